"""What a recall speaks of in one unit, by worked examples."""

from datetime import datetime
from typing import Any
from uuid import UUID

import msgspec
import pytest
from msgspec.structs import replace

from service.domain.kin import fold_kin
from service.domain.kinds.recall_opened import Criterion
from service.domain.recall.asking import Asking
from service.domain.recall.impact import Life, Touched, touched
from service.domain.recall.opening import Back, Opening
from tests.domain.folding import Folding
from tests.oracle.firm import PLAIN, check, examine, issue, part, register, tell
from tests.oracle.posting import Posted, log, moment

LOT_9 = {"item": "p3", "lot": "L-9"}
POSITION = "particle-filter"
NOON = "2026-01-06 12:00"


def swap(at: str, lot: str | None, out: str | None = None) -> Posted:
    """Put a filter in, and perhaps say of which lot the one was that came out."""
    new: dict[str, Any] = {"in": part("p3", lot=lot)} | ({} if out is None else {"out": {"item": "p3", "lot": out}})
    return tell("filter-replaced", at, position=POSITION, reason="loading", **new)


def lived(posted: list[Posted], at: str = NOON) -> Life:
    """Fold a unit."""
    folding = Folding(log([*PLAIN, *posted]), [])
    rows = [row for row in folding.rows if getattr(row.event, "asset", None) == "A-1"]
    story = fold_kin(rows, [], folding.world.fresh()).stories[0]
    unit, when = story.folded.unit, moment(at)
    uses = tuple(use for use in story.uses if use.worn and use.at <= when)
    stays = tuple(stay for stay in story.stays if stay.since <= when)
    return Life(unit, folding.world.listing(unit, when), when, stays, uses)


def opened(at: str = NOON, *criteria: dict[str, Any]) -> Opening:
    """Open the recall."""
    key = (moment(at), True, 0, "", 0, b"", False)
    given = tuple(msgspec.convert(one, Criterion) for one in criteria or [LOT_9])
    return Opening("r-1", key, UUID(int=1), "m-1", "stop-use", given)


def found(posted: list[Posted], *criteria: dict[str, Any], at: str = NOON, opened_at: str = NOON) -> Touched | None:
    """Fold a unit and ask."""
    return touched(lived(posted, at), Asking([opened(opened_at, *criteria)]))


def sat(told: Touched | None) -> list[tuple[str | None, str, str | None, str, bool]]:
    """Show the sittings: position, since and until by day and time, state, whether certain."""
    return [
        (one.position, stamp(one.since), None if one.until is None else stamp(one.until), one.state, one.certain)
        for one in (told.sittings if told is not None else ())
    ]


def stamp(at: datetime) -> str:
    """Tell day and hour."""
    return f"{at:%d %H}"


def first(lot: str | None) -> Posted:
    """Register the unit with its filter."""
    return register(at="2026-01-05 08:00", parts=[{"position": POSITION, "part": part("p3", lot=lot)}])


BARE = register(at="2026-01-05 08:00")
EMPTIED = tell("part-replaced", "2026-01-05 10:00", position=POSITION, reason="damage")


def identified(at: str, lot: str) -> Posted:
    """Say which lot a filter is of."""
    return tell("part-identified", at, position=POSITION, part=part("p3", lot=lot))


DAY, TEN = "2026-01-05", "2026-01-05 10:00"
SAID_THAT_DAY = register(at=DAY, parts=[{"position": POSITION, "part": part("p3", lot="L-9")}])


@pytest.mark.parametrize(
    ("posted", "sittings"),
    [
        ([first("L-9")], [(POSITION, "05 08", None, "affected", True)]),
        ([first("L-8")], []),
        ([first(None)], [(POSITION, "05 08", None, "affected", False)]),
        ([first("L-9"), swap("2026-01-05 10:00", "L-8")], [(POSITION, "05 08", "05 10", "removed", True)]),
        ([first("L-8"), swap("2026-01-05 10:00", "L-9")], [(POSITION, "05 10", None, "affected", True)]),
        ([first(None), identified("2026-01-05 10:00", "L-9")], [(POSITION, "05 08", None, "affected", True)]),
        ([first(None), identified("2026-01-05 10:00", "L-8")], [(POSITION, "05 08", "05 10", "identified", False)]),
        ([BARE], [(POSITION, "05 08", None, "affected", False)]),
        ([BARE, swap("2026-01-05 10:00", "L-8")], [(POSITION, "05 08", "05 10", "removed", False)]),
        ([BARE, identified("2026-01-05 10:00", "L-8")], []),
        ([BARE, EMPTIED], [(POSITION, "05 08", "05 10", "removed", False)]),
        ([BARE, EMPTIED, swap("2026-01-05 11:00", "L-8")], [(POSITION, "05 08", "05 10", "removed", False)]),
        ([first("L-8"), swap("2026-01-06 13:00", "L-9")], []),
        ([first("L-8"), swap(NOON, "L-9")], [(POSITION, "06 12", None, "affected", True)]),
        ([BARE, swap(NOON, "L-8")], [(POSITION, "05 08", "06 12", "removed", False)]),
        ([BARE, swap("2026-01-06 13:00", "L-8")], [(POSITION, "05 08", None, "affected", False)]),
        ([first(None), swap("2026-01-05 10:00", "L-8", "L-9")], [(POSITION, "05 08", "05 10", "removed", True)]),
        ([first(None), swap("2026-01-05 10:00", "L-8", "L-7")], [(POSITION, "05 08", "05 10", "identified", False)]),
        ([first("L-8"), swap("2026-01-05 10:00", "L-8", "L-9")], [(POSITION, "05 08", "05 10", "removed", True)]),
        ([BARE, swap("2026-01-05 10:00", "L-8", "L-9")], [(POSITION, "05 08", "05 10", "removed", True)]),
        ([BARE, swap("2026-01-05 10:00", "L-8", "L-7")], []),
        ([first("L-8"), swap(DAY, "L-9"), swap(DAY, "L-7")], [(POSITION, "06 00", "06 00", "removed", True)]),
        ([first("L-8"), swap(DAY, None), swap(DAY, "L-7")], [(POSITION, "06 00", "06 00", "removed", False)]),
        (
            [first("L-8"), swap(DAY, None), swap(DAY, "L-7", "L-9"), swap(DAY, "L-9"), swap(DAY, "L-6")],
            [(POSITION, "06 00", "06 00", "removed", certain) for certain in (True, False, True)],
        ),
        ([first(None), identified(DAY, "L-9"), swap(DAY, "L-8")], [(POSITION, "05 08", "06 00", "removed", True)]),
        ([first(None), identified(DAY, "L-8"), swap(DAY, "L-7")], [(POSITION, "05 08", "06 00", "identified", False)]),
        ([BARE, identified(DAY, "L-9"), swap(DAY, "L-8")], [(POSITION, "05 08", "06 00", "removed", True)]),
        ([BARE, identified(DAY, "L-7"), swap(DAY, "L-8")], []),
        ([first("L-8"), swap(TEN, "L-9"), swap(TEN, "L-7")], []),
        ([first(None), identified(TEN, "L-9"), swap(TEN, "L-8")], [(POSITION, "05 08", "05 10", "removed", True)]),
        ([SAID_THAT_DAY, swap(DAY, "L-8")], [(POSITION, "06 00", "06 00", "removed", True)]),
    ],
)
def test_what_sat_there(posted: list[Posted], sittings: list[Any]) -> None:
    """From when to when a part of the lot, or one that may be of it, sat there."""
    assert sat(found(posted)) == sittings


def test_what_was_dealt_with_is_still_there() -> None:
    """After a remedy later than the opening it is cleared, and nothing is affected."""
    fixed = tell("recall-actioned", "2026-01-05 11:00", recall="r-1", result="fixed")
    told = found([first("L-9"), fixed], opened_at="2026-01-05 10:00")
    assert sat(told) == [(POSITION, "05 08", None, "cleared", True)]
    assert told is not None
    assert (told.affected, told.certain) == (False, True)


@pytest.mark.parametrize(
    ("put_in", "result", "state"),
    [
        ("2026-01-04 23:00", "fixed", "cleared"),
        ("2026-01-05 10:00", "fixed", "affected"),
        ("2026-01-05 10:00", "not-affected", "affected"),
    ],
)
def test_a_remedy_of_a_day_clears_what_was_in_as_the_day_began(put_in: str, result: str, state: str) -> None:
    """What came in the evening before is meant; what came in on the day itself may have come after it."""
    mine = register(at="2026-01-03 08:00", parts=[{"position": POSITION, "part": part("p3", lot="L-8")}])
    done = tell("recall-actioned", "2026-01-05", recall="r-1", result=result)
    told = found([mine, swap(put_in, "L-9"), done], opened_at="2026-01-05 05:00")
    assert [one[3] for one in sat(told)] == [state]


def test_a_remedy_of_a_day_takes_nothing_from_one_of_that_day() -> None:
    """What was dealt with at noon stays so, though the day's end tells another remedy, which means what came before."""
    noon = tell("recall-actioned", "2026-01-05 11:00", recall="r-1", result="fixed")
    day = tell("recall-actioned", "2026-01-05", recall="r-1", result="fixed")
    told = found([first("L-8"), swap("2026-01-05 10:00", "L-9"), noon, day], opened_at="2026-01-05 05:00")
    assert [one[3] for one in sat(told)] == ["cleared"]


def test_a_unit_that_is_spoken_of_itself() -> None:
    """By its model it is certain, by a day that is not on record it is not."""
    assert sat(found([BARE], {"model": "hood"})) == [(None, "05 08", None, "affected", True)]
    assert sat(found([BARE], {"model": "hood", "made_from": "2025-01-01"})) == [
        (None, "05 08", None, "affected", False)
    ]
    assert found([BARE], {"model": "mask"}) is None


def test_who_had_it_meanwhile() -> None:
    """Hands count by what they share with the sittings; whoever has it now counts, if for no second yet."""
    told = found(
        [
            first("L-9"),
            issue("2026-01-05 09:00", "p-1"),
            swap("2026-01-05 10:00", "L-8"),
            issue("2026-01-05 11:00", "p-2"),
            swap("2026-01-05 12:00", "L-9"),
            issue(NOON, "p-3"),
        ]
    )
    assert told is not None
    assert [(hand.holder.person, hand.until, hand.seconds) for hand in told.hands] == [
        ("p-1", moment("2026-01-05 11:00"), 3600),
        ("p-2", moment(NOON), 86400),
        ("p-3", None, 0),
    ]


def test_who_wore_it_meanwhile() -> None:
    """A wearing counts that began while it was there, or lasted into that; not one that began as it was taken out."""
    given = {"2026-01-05 08:30": "p-1", "2026-01-05 09:30": "p-2", "2026-01-05 12:00": "p-3"}
    worn = [tell("worn", at, wearer=who, until=moment(at[:11] + "11:00").isoformat() if who != "p-3" else None)
            for at, who in given.items()]  # fmt: skip
    told = found([first("L-8"), swap("2026-01-05 09:00", "L-9"), *worn, swap("2026-01-05 12:00", "L-8")])
    assert told is not None
    assert [(one.person, one.times, one.seconds) for one in told.wearers] == [("p-1", 1, 7200), ("p-2", 1, 5400)]


OF_OLD = register(at="2025-12-31 08:00", parts=[{"position": POSITION, "part": part("p3", lot="L-8")}])


def test_who_checks_it_every_day_wore_it_since_the_lot_came_in() -> None:
    """Six daily checks, the lot put in before the last: the one before may have lasted into that, none earlier."""
    checks = [check(f"2026-01-0{day} 07:00", "p-1") for day in range(1, 7)]
    told = found([OF_OLD, *checks, swap("2026-01-06 06:00", "L-9")])
    assert told is not None
    [one] = told.wearers
    assert (one.person, one.times, one.seconds, one.known_by) == ("p-1", 2, 0, ("checked",))
    assert (one.first, one.last) == (moment("2026-01-06 06:00"), moment("2026-01-06 07:00"))


def test_who_took_it_off_before_the_lot_came_in_wore_it_from_the_next_check_on() -> None:
    """The unit was returned after each day: the check before the lot came in did not last into that."""
    days = [f"2026-01-0{day}" for day in range(1, 7)]
    shifts = [
        (issue(f"{day} 06:55", "p-1"), check(f"{day} 07:00", "p-1"), tell("returned", f"{day} 15:00")) for day in days
    ]
    given = [OF_OLD, *(said for shift in shifts for said in shift)]
    told = found([*given, swap("2026-01-06 06:00", "L-9")], at="2026-01-06 16:00", opened_at="2026-01-06 16:00")
    assert told is not None
    [one] = told.wearers
    assert (one.times, one.first, one.last) == (1, moment("2026-01-06 07:00"), moment("2026-01-06 07:00"))


def test_who_wore_it_on_a_day_on_which_a_part_came_and_went_may_have_worn_that() -> None:
    """For no second; whoever had it on before that day, or after it, did not."""
    worn = [tell("worn", at, wearer=who) for at, who in ((TEN, "p-1"), (DAY, "p-2"), ("2026-01-06 10:00", "p-3"))]
    early = tell("worn", "2026-01-04 10:00", wearer="p-0", until=moment("2026-01-04 11:00").isoformat())
    given = [register(at="2026-01-03 08:00"), swap("2026-01-03 09:00", "L-8"), early, *worn]
    told = found([*given, swap(DAY, "L-9"), swap(DAY, "L-7")])
    assert told is not None
    assert [(one.person, one.seconds) for one in told.wearers] == [("p-1", 0), ("p-2", 0)]


def test_a_wearing_without_an_end_is_told_as_such() -> None:
    """So that it is known that some seconds are not counted; not where it was over before, or said its end."""
    ended = tell("worn", "2026-01-05 09:00", wearer="p-1", until=moment("2026-01-05 10:00").isoformat())
    open_ = tell("worn", "2026-01-05 09:00", wearer="p-1")
    given: list[list[Posted]] = [
        [first("L-9"), ended],
        [first("L-9"), open_],
        [first("L-9"), ended, open_],
        [first("L-9")],
    ]
    told = [found(posted) for posted in given]
    assert [one is not None and one.endless for one in told] == [False, True, True, False]


def test_what_came_with_a_unit_stays_fixed_though_it_is_named_later() -> None:
    """To learn what it was changes nothing; what was put in after the remedy is meant."""
    fixed = tell("recall-actioned", "2026-01-05 11:00", recall="r-1", result="fixed")
    named = found([BARE, fixed, identified("2026-01-05 11:30", "L-9")], opened_at="2026-01-05 10:00")
    put_in = found([first("L-8"), fixed, swap("2026-01-05 11:30", "L-9")], opened_at="2026-01-05 10:00")
    assert [one[3] for one in (*sat(named), *sat(put_in))] == ["cleared", "affected"]


def test_a_piece_is_known_by_a_lot_that_was_told_of_it_elsewhere() -> None:
    """By its item and serial number; where it is of a lot that is not meant, it may still be meant."""
    piece = {"position": POSITION, "part": part("p3", serial="S-7")}
    life, opening = lived([register(at="2026-01-05 08:00", parts=[piece])]), opened()
    known = [{}, {("p3", "S-00017"): ("L-8", "L-9")}, {("p3", "S-00017"): ("L-8",)}, {("tube", "S-00017"): ("L-9",)}]
    told = [touched(replace(life, lots=lots), Asking([opening])) for lots in known]
    assert [(one.sittings[0].lot, one.sittings[0].certain) for one in told if one is not None] == [
        (None, False),
        ("L-9", True),
        (None, False),
        (None, False),
    ]


def test_what_no_remedy_answered_counts_on() -> None:
    """Let go by an examination after a voiding, it was never dealt with: who has it now still has what was meant."""
    fixed = tell("recall-actioned", "2026-01-05 13:00", recall="r-1", result="fixed")
    given = [first("L-9"), fixed, examine("2026-01-05 14:45"), issue("2026-01-05 15:00", "p-1")]
    before = opened("2026-01-05 12:00")
    voided = replace(opened("2026-01-05 14:00"), backs=(Back(UUID(int=2), "m-9", moment("2026-01-05 14:30")),))
    answered, both = (touched(lived(given), Asking(openings)) for openings in ([before], [before, voided]))
    assert answered is not None
    assert both is not None
    assert sat(answered) == sat(both) == [(POSITION, "05 08", None, "cleared", True)]
    assert answered.hands == ()
    assert [(hand.holder.person, hand.seconds) for hand in both.hands] == [("p-1", 21 * 3600)]


def test_of_several_openings_it_is_told_when_the_first_and_the_last_was_that_speak_of_it() -> None:
    """Those that speak of something else count for nothing, whatever their order."""
    hours = ("2026-01-06 09:00", "2026-01-06 07:00", "2026-01-06 08:00")
    openings = [opened("2026-01-06 06:00", {"item": "p3", "lot": "L-8"}), *map(opened, hours)]
    given = [register(at="2026-01-05 08:00"), swap("2026-01-05 09:00", "L-9")]
    for asked in (openings, openings[::-1]):
        told = touched(lived(given), Asking(asked))
        assert told is not None
        known = [one.said for one in told.meant if one.sitting.certain]
        assert [(said.opened, said.renewed) for said in known] == [(moment(hours[1]), moment(hours[0]))]
