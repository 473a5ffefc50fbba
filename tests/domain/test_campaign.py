"""Recalls as they were opened, rehearsed, closed and taken back."""

from datetime import UTC, date, datetime
from typing import Any

from service.domain.conflict import UNKNOWN_RECALL, Conflict
from service.domain.context import world_of
from service.domain.kinds.recall_opened import Criterion
from service.domain.part import Part
from service.domain.recall.asks import Ask
from service.domain.recall.bearing import bearing, reached
from service.domain.recall.campaign import Campaign, Reason, campaigns
from service.domain.unit import Fitted
from tests.domain.units import at, event, row, unit
from tests.oracle.posting import Posted, say

LATER = datetime(2026, 3, 9, tzinfo=UTC)
LOT = {"item": "p3", "lot": "L-9"}


def opened(hours: float, **fields: Any) -> Posted:
    """Open the recall so many hours after noon."""
    given = {"recall": "r-1", "action": "stop-use", "criteria": [LOT]} | fields
    return say("recall-opened", at(hours).isoformat(), "m-2", **given)


def closed(hours: float, *tags: str) -> Posted:
    """Close it, naming units as not dealt with."""
    outstanding = [{"asset": tag, "reason": "missing since January"} for tag in tags]
    return say("recall-closed", at(hours).isoformat(), "m-2", recall="r-1", outstanding=outstanding)


def told(*posted: Posted) -> Campaign:
    """Give the recall after all that was said of it."""
    rows = [row(one, number) for number, one in enumerate(posted, 1)]
    return campaigns(rows, world_of(rows, {}), LATER)["r-1"]


def reasons(found: Campaign) -> dict[str, Reason]:
    """Show the last reason given by tag."""
    return {one.tag: one.reason for one in found.given}


def test_a_clock_that_cannot_be_believed_opens_it_again_at_its_receipt() -> None:
    """As units are judged (R9): what was put right before the receipt is not dealt with."""
    found = told(opened(0, received=at(3).isoformat(), sent=at(1).isoformat()))
    assert [opening.at for opening in found.openings] == [at(0), at(3)]
    assert {one.event for one in found.openings} == {event(1)}


def test_it_is_opened_once_where_it_was_received_at_once() -> None:
    """Whatever the sender's clock said: there is no later instant to open it again at."""
    found = told(opened(0, received=at(0).isoformat(), sent=at(-3).isoformat()))
    assert [opening.at for opening in found.openings] == [at(0)]


def test_rehearsals_are_left_out_once_it_is_opened_in_earnest() -> None:
    """What was only rehearsed speaks of no unit then; until then it is a rehearsal."""
    rehearsed = opened(0, rehearsal=True, criteria=[{"model": "hood"}])
    assert told(rehearsed).rehearsal
    found = told(rehearsed, opened(1))
    assert not found.rehearsal
    assert [opening.criteria for opening in found.openings] == [(Criterion(item="p3", lot="L-9"),)]


def test_it_asks_the_most_that_any_opening_asks_that_stands() -> None:
    """By the earliest day that any names; one that names none asks it at once, but for what is only to be read."""
    first, second = (
        opened(0, action="rectify-by", due_on="2026-05-01"),
        opened(1, action="inspect", due_on="2026-04-01"),
    )
    third = opened(2, action="rectify-by", due_on="2026-04-20", criteria=[LOT | {"lot": "L-8"}])
    found = told(first, second, third)
    assert found.most == Ask("rectify-by", date(2026, 4, 1))
    assert told(first, third, opened(3, action="information")).most == Ask("rectify-by", date(2026, 4, 20))
    assert told(first, opened(3, action="inspect")).most == Ask("rectify-by", None)
    assert told(opened(3, action="information", due_on="2026-05-01")).most == Ask("information", date(2026, 5, 1))
    at_once = told(first, second, third, opened(3, action="rectify-by"))
    assert at_once.most == Ask("rectify-by", None)
    void = say("voided", at(4).isoformat(), "m-1", event=str(event(3)), reason="wrong lot", key="desk")
    left = told(first, second, third, void)
    assert (left.most, left.voided_at) == (Ask("rectify-by", date(2026, 4, 1)), None)
    assert {one.criteria for one in left.meant} == {(Criterion(item="p3", lot="L-9"),)}
    assert len(left.openings) == 3


def test_once_all_are_voided_it_is_told_as_it_was() -> None:
    """What it had reached stays under it, and whoever asks reads what that was."""
    void = say("voided", at(4).isoformat(), "m-1", event=str(event(1)), reason="wrong lot", key="desk")
    found = told(opened(0, due_on="2026-04-01"), void)
    assert (found.most, found.voided_at) == (Ask("stop-use", date(2026, 4, 1)), at(4))
    assert (found.standing, len(found.meant)) == ((), 1)


def test_every_closing_since_it_was_opened_gives_reasons() -> None:
    """A list of a hundred may not do for all units; what asks something again asks for reasons anew, and only that."""
    found = told(opened(0), closed(1, "A-1", "A-2"), closed(2, "A-3"))
    assert reasons(found) == {
        "A-1": (event(2), "outstanding[0].reason"),
        "A-2": (event(2), "outstanding[1].reason"),
        "A-3": (event(3), "outstanding[0].reason"),
    }
    assert found.closing is not None
    assert found.closing.at == at(2)
    again = told(opened(0), closed(1, "A-1"), opened(2), closed(3, "A-2"))
    assert set(reasons(again)) == {"A-2"}
    assert told(opened(0), closed(1, "A-1"), opened(2)).closing is None
    informed = told(opened(0), closed(1, "A-1"), opened(2, action="information"))
    assert (informed.closing, set(reasons(informed))) == (None, {"A-1"})
    over = told(opened(0), closed(1, "A-1"), opened(2, action="information"), closed(3))
    assert (over.closing and over.closing.at, set(reasons(over))) == (at(3), {"A-1"})


def test_a_closing_that_leaves_units_without_a_reason_ends_nothing() -> None:
    """Its reasons count for the next one, those apart that it was told count for nothing; the next one ends it."""
    short = (Conflict("units-outstanding", count=1, assets=("A-3",)), Conflict("reason-without-unit", assets=("A-2",)))
    rows = [row(opened(0)), row(closed(1, "A-1", "A-2"), 2, conflicts=short)]
    found = campaigns(rows, world_of(rows, {}), LATER)["r-1"]
    assert (found.closing, set(reasons(found))) == (None, {"A-1"})
    rows.append(row(closed(2, "A-3"), 3))
    found = campaigns(rows, world_of(rows, {}), LATER)["r-1"]
    assert found.closing is not None
    assert (found.closing.at, set(reasons(found))) == (at(2), {"A-1", "A-3"})


def test_a_reason_counts_though_the_closing_lacks_others() -> None:
    """Only where it is told that its unit had nothing to be done does it count for nothing."""
    short = (Conflict("units-outstanding", count=1, assets=("A-1",)),)
    rows = [row(opened(0)), row(closed(1, "A-1"), 2, conflicts=short)]
    assert set(reasons(campaigns(rows, world_of(rows, {}), LATER)["r-1"])) == {"A-1"}


def test_a_closing_at_the_instant_of_an_opening_ends_nothing() -> None:
    """What opens it again then asks for reasons anew; a moment later it is closed."""
    assert told(opened(0), opened(1), closed(1, "A-1")).closing is None
    assert told(opened(0), opened(1), closed(1.01, "A-1")).closing is not None


def test_a_closing_ends_what_it_was_held_against() -> None:
    """No opening that asks something and was recorded after it, nor any where none was known; its reasons count."""
    assert told(opened(0), closed(2), opened(1, action="information")).closing is not None
    assert told(opened(0, rehearsal=True), closed(2), opened(1, rehearsal=True)).closing is not None
    for first in (opened(0), opened(0, rehearsal=True), opened(0, action="information")):
        found = told(first, closed(2, "A-1"), opened(1, action="inspect"))
        assert (found.closing, set(reasons(found))) == (None, {"A-1"})
        found = told(first, closed(2), opened(1), closed(3))
        assert found.closing is not None
        assert found.closing.at == at(3)


def test_a_closing_of_a_recall_that_nobody_had_opened_ends_what_asks_nothing_alone() -> None:
    """Also where another opens it between the look and the record: it was held against nothing."""
    for fields in ({"rehearsal": True}, {"action": "information"}, {}):
        for order in (1, -1):
            said = [row(opened(0, **fields), 2 - order), row(closed(2), 2, conflicts=(UNKNOWN_RECALL,))]
            found = campaigns(said[::order], world_of(said, {}), LATER)["r-1"]
            assert (found.closing is None) == (not fields)


def test_a_drill_that_is_repeated_is_measured_from_its_own_beginning() -> None:
    """Once it was closed; opened again before that it goes on from its first opening, as a recall in earnest does."""
    first, again = opened(0, rehearsal=True), opened(3, rehearsal=True)
    assert [one.at for one in told(first, closed(1), again).openings] == [at(3)]
    assert [one.at for one in told(first, again, closed(4)).openings] == [at(0), at(3)]
    assert [one.at for one in told(opened(0), closed(1), opened(3)).openings] == [at(0), at(3)]


def test_a_recall_is_known_from_the_instant_of_its_opening() -> None:
    """At that moment it is, as it is closed from that of its closing on; before it nobody knows of it."""
    rows = [row(opened(0)), row(closed(2), 2)]
    known = [campaigns(rows, world_of(rows, {}), at(hours)) for hours in (-0.1, 0, 1.9, 2)]
    assert [list(one) for one in known] == [[], ["r-1"], ["r-1"], ["r-1"]]
    assert [one["r-1"].closing is None for one in known[1:]] == [True, True, False]


def test_a_drill_begins_anew_at_the_instant_it_was_closed() -> None:
    """Of several closings before it is opened again the last one counts; one that ended nothing does not."""
    first, again = opened(0, rehearsal=True), opened(3, rehearsal=True)
    assert [one.at for one in told(first, closed(3), again).openings] == [at(3)]
    assert [one.at for one in told(first, opened(1, rehearsal=True), closed(0.5), closed(2), again).openings] == [at(3)]
    short = (Conflict("units-outstanding", count=1, assets=("A-3",)),)
    rows = [row(first), row(closed(1), 2, conflicts=short), row(again, 3)]
    assert [one.at for one in campaigns(rows, world_of(rows, {}), LATER)["r-1"].openings] == [at(0), at(3)]


def test_a_closing_that_was_taken_back_closes_nothing() -> None:
    """Neither does it give reasons."""
    void = say("voided", at(2).isoformat(), "m-1", event=str(event(2)), reason="too early")
    found = told(opened(0), closed(1, "A-1"), void)
    assert (found.closing, found.given) == (None, ())


def test_an_opening_left_out_of_account_reaches_nothing() -> None:
    """A unit that was released on its voiding comes under it no more, whoever asks."""
    [opening] = told(opened(0)).openings
    part = Fitted(Part(item="p3", lot="L-9", condition="new"), at(-1), at(-1).date(), event(9))
    held = unit(parts={"particle-filter": part})
    freed = unit(parts={"particle-filter": part}, forgiven=(event(1),))
    assert [list(reached(one, {}, opening)) for one in (held, freed)] == [[("particle-filter", True)], []]
    there = world_of([row(opened(0))], {})
    assert [len(bearing(one, {}, there.recalls)) for one in (held, freed)] == [1, 0]


def test_what_came_in_at_the_instant_of_a_voiding_is_reached() -> None:
    """A moment later nothing is; what was there all along came with the unit."""
    void = say("voided", at(4).isoformat(), "m-1", event=str(event(1)), reason="wrong lot", key="desk")
    [opening] = told(opened(0), void).openings
    part = Part(item="p3", lot="L-9", condition="new")
    came = [Fitted(part, at(hours), at(0).date(), event(9)) for hours in (4, 4.1)]
    came.append(Fitted(part, at(5), at(0).date(), event(9), was_there=True))
    found = [list(reached(unit(parts={"particle-filter": one}), {}, opening)) for one in came]
    assert found == [[("particle-filter", True)], [], [("particle-filter", True)]]
