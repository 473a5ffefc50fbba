from typing import Any

import pytest

from service.domain.conflict import Conflict
from service.domain.kin import KinStory, Report, fold_kin, prepare, resume
from service.domain.recorded import Recorded
from tests.domain.folding import Folding
from tests.domain.keeping import of_kin
from tests.domain.units import at, event
from tests.oracle.firm import PLAIN, check, examine, issue, register, skill, tell, wear
from tests.oracle.posting import Posted, log, say

BEGUN = [
    register(),
    register("2026-01-05 09:00", "B-1", model="pack", serial="cell-1", fitted_to="A-1"),
    examine("2026-02-27 10:00"),
    check(at(0).isoformat(), label="check"),
]


def bad(hours: float, late: float, **fields: Any) -> Posted:
    """Quarantine a unit, told so many hours late without a clock."""
    received = at(hours + late).isoformat()
    return tell("quarantined", at(hours).isoformat(), reason="other", received=received, sent=None, **fields)


def rows(*posted: Posted) -> tuple[list[Recorded], Folding]:
    """Give the rows of a kin, and the world."""
    folding = Folding(log([*PLAIN, *posted]), [])
    return of_kin(folding.rows), folding


def told_on(*new: Posted, begun: list[Posted] = BEGUN) -> KinStory | None:
    """Fold what has begun, then what is new on from there."""
    every, folding = rows(*begun, *new)
    known = every[: len(every) - len(new)]
    before = fold_kin(known, [], folding.world.fresh())
    assert before.snapshot is not None
    return resume(before.snapshot, every[len(known) :], before.tags, folding.world.fresh())


@pytest.mark.parametrize(
    "new",
    [
        issue(at(1).isoformat()),
        issue(at(0).isoformat()),
        tell("missing", at(1).isoformat(), "B-1"),
        tell("returned", "2026-03-03", site="dock"),
        tell("use-set", at(1).isoformat(), use="occasional", authorised_by="m-1", reason="x"),
        tell("released", at(1).isoformat()),
        bad(1, 5),
        tell("part-replaced", at(1).isoformat(), position="battery", out={"serial": "S-A-1"}, reason="schedule"),
        tell("use-set", at(1).isoformat(), received=at(-1).isoformat(), use="emergency", authorised_by="m-1"),
        tell(
            "use-set", at(1).isoformat(), received=at(-1).isoformat(), use="occasional", authorised_by="m-1", reason="x"
        ),
    ],
)
def test_what_follows_goes_on(new: Posted) -> None:
    """Something of a unit of the kin, later than all before, at an instant or on a day of a named site.

    When it was received is not asked, nor whether a serial that it names is that of a unit that serves no other.
    """
    told = told_on(new)
    assert told is not None
    assert told.resumed
    assert told.tags == ("A-1", "B-1")


@pytest.mark.parametrize(
    "new",
    [
        issue(at(-1).isoformat()),
        tell("cleaned", at(0).isoformat(), scope="unit", method="wiped"),
        tell("returned", "2026-03-03"),
        tell("retagged", at(1).isoformat(), new_tag="C-1"),
        register(at(1).isoformat(), "C-1", serial="S-A-1"),
        issue(at(1).isoformat(), tag="Z-1"),
        tell("released", at(1).isoformat(), voiding="@check"),
        say("voided", at(1).isoformat(), "m-1", event="@check", reason="wrong"),
        tell("quarantined", at(1).isoformat(), "B-1", reason="damage"),
        tell("part-replaced", at(1).isoformat(), position="battery", out={"serial": "CELL-1"}, reason="schedule"),
        bad(-1, 5),
    ],
)
def test_what_reaches_back_does_not_go_on(new: Posted) -> None:
    """What comes earlier in the order, changes an identity, takes back, or changes what a component says."""
    assert told_on(new) is None


def test_good_news_up_to_a_late_receipt_reaches_back() -> None:
    """It could make bad news suspect that came late without a clock (R8); later good news and bad news do not."""
    begun = [*BEGUN, bad(1, 5)]
    assert told_on(issue(at(6).isoformat()), begun=begun) is None
    assert told_on(issue(at(6.1).isoformat()), begun=begun) is not None
    assert told_on(tell("missing", at(6).isoformat()), begun=begun) is not None


def test_what_is_watched_stays_watched() -> None:
    """Over what follows, and the latest receipt of all."""
    first = told_on(bad(1, 5))
    assert first is not None
    assert first.snapshot is not None
    assert first.snapshot.watch == at(6)
    second = told_on(tell("missing", at(2).isoformat()), begun=[*BEGUN, bad(1, 5)])
    assert second is not None
    assert second.snapshot is not None
    assert second.snapshot.watch == at(6)
    third = told_on(bad(2, 1.5), begun=[*BEGUN, bad(1, 5)])
    assert third is not None
    assert third.snapshot is not None
    assert third.snapshot.watch == at(6)


def test_nothing_new_goes_on_with_nothing() -> None:
    """The snapshot stays as it was."""
    every, folding = rows(*BEGUN)
    before = fold_kin(every, [], folding.world)
    assert before.snapshot is not None
    again = resume(before.snapshot, [], before.tags, folding.world.fresh())
    assert again is not None
    assert again.snapshot == before.snapshot


def test_a_kin_of_no_unit_has_no_snapshot() -> None:
    """Events of tags that nobody registered tell nothing."""
    every, folding = rows(issue(at(1).isoformat(), tag="Z-1"))
    told = fold_kin(every, [Report(event(7), "Z-1", at(0), None)], folding.world)
    assert (told.stories, told.snapshot, told.tags) == ((), None, ())


def test_units_are_told_in_the_order_of_their_ids() -> None:
    """Components are folded first, but told in their place."""
    every, folding = rows(*BEGUN)
    told = fold_kin(every, [], folding.world)
    assert [story.folded.unit.tag for story in told.stories] == ["A-1", "B-1"]
    assert not told.resumed


def test_the_owner_of_a_tag_is_who_has_it_in_the_end() -> None:
    """After a new tag and a new registration under the old one."""
    every, folding = rows(
        register(),
        tell("retagged", at(0).isoformat(), new_tag="C-1"),
        register(at(1).isoformat(), "A-1", serial="another"),
    )
    prepared = prepare(every, [], folding.world)
    first, second = (unit.start.unit.unit for unit in prepared.units)
    assert prepared.owners == {"A-1": second, "C-1": first}


def test_conflicts_of_the_kin_are_told_besides_those_of_its_units() -> None:
    """A known serial, a voiding without effect, and what came before the registration."""
    every, folding = rows(
        register(),
        register(at(9).isoformat(), "C-1", serial="s-a-1"),
        check(at(0).isoformat(), airflow_lpm=100, by="p-1", label="bad"),
        say("voided", at(1).isoformat(), "p-1", event="@bad", reason="misread"),
        wear("2026-01-01 08:00"),
        skill("x", "examine"),
    )
    told = fold_kin(every, [], folding.world)
    known = {row.event.id: row.event.kind for row in every}
    assert sorted((known[one.event], one.conflict.code) for one in told.conflicts) == [
        ("registered", "serial-known"),
        ("voided", "own-adverse-event"),
        ("worn", "before-registration"),
    ]
    assert Conflict("serial-known") in {one.conflict for one in told.conflicts}


@pytest.mark.parametrize(("use", "hours"), [("emergency", 1), ("occasional", 5)])
def test_only_an_occasional_use_takes_effect_again_at_its_receipt(use: str, hours: float) -> None:
    """The fold has come as far as that (R50)."""
    received = at(5).isoformat()
    told = told_on(tell("use-set", at(1).isoformat(), received=received, use=use, authorised_by="m-1", reason="x"))
    assert told is not None
    assert told.snapshot is not None
    assert told.snapshot.key[0] == at(hours)
