"""What single kinds mean and say to the letter, where only the whole fold would show it otherwise."""

from datetime import timedelta
from typing import Any

import pytest

from service.domain.conflict import Conflict
from service.domain.counting import Numbered, runs
from service.domain.errors import ContradictsHistory
from service.domain.event import AssetEvent
from service.domain.fold import contradictions, meant
from service.domain.unit import Unit, WaitingUse
from tests.domain.units import NOON, at, event, fact, unit, world
from tests.oracle.firm import tell


def met(kind: str, there_is: Unit, **fields: Any) -> tuple[Unit, list[Conflict]]:
    """Have something happen to a unit, and give it after that with the conflicts."""
    there = world()
    said = fact(tell(kind, at(1).isoformat(), **fields), there, 5)
    assert isinstance(said.event, AssetEvent)
    return meant(there_is, said, there), [found.conflict for found in contradictions(there_is, said, there)]


@pytest.mark.parametrize(
    ("kind", "fields", "competence"),
    [("released", {"by": "p-77"}, "release"), ("repaired", {"by": "p-77", "work": ["seal-replaced"]}, "repair")],
)
def test_who_lacks_a_competence_is_told_which(kind: str, fields: dict[str, Any], competence: str) -> None:
    """The conflict names the competence that the person has not on record."""
    _, conflicts = met(kind, unit(), **fields)
    assert Conflict("unknown-competence", (competence,)) in conflicts


def test_a_use_set_ends_what_waits_for_its_receipt() -> None:
    """An occasional use that waits to bite never does once another use was set after it."""
    waiting = unit(uses_waiting=(WaitingUse(event(1), "occasional"),))
    after, _ = met("use-set", waiting, use="emergency", authorised_by="m-1")
    assert (after.use, after.uses_waiting) == ("emergency", ())


def test_scrapping_is_no_remedy() -> None:
    """A part that is scrapped has not been put right: the recall stays open for the unit."""
    fixed, _ = met("recall-actioned", unit(), recall="rc-1", result="fixed", by="rep-1")
    scrapped, _ = met("recall-actioned", unit(), recall="rc-1", result="scrapped", by="rep-1")
    assert (set(fixed.remedied), set(scrapped.remedied)) == ({"rc-1"}, set())


def test_an_examination_that_says_it_failed_withdraws() -> None:
    """Its own result counts though every point passed."""
    after, _ = met("examined", unit(), result="fail", points={"airflow": "pass"}, airflow_lpm=190.0, by="ex-1")
    assert [cause.reason for cause in after.held] == ["failed"]


def test_all_that_speaks_against_an_event_is_told_in_words() -> None:
    """Several conflicts, and several reasons of one, stand after each other."""
    found = [Conflict("issued-while-missing"), Conflict("not-ready-to-issue", ("missing", "withdrawal"))]
    assert ContradictsHistory(found).detail == (
        "Nothing is recorded: issued while missing; issued although not ready to issue (missing, withdrawal). "
        "Look into it before doing this."
    )


def test_runs_are_joined_only_where_fewer_are_missing_together() -> None:
    """Two runs whose numbers neither fill each other nor meet stay two, though they share none."""
    apart = [(5, 0), (6, 1), (7, 2), (1, 3), (2, 4)]
    found = runs(Numbered(number, NOON + timedelta(minutes=minute), 0) for number, minute in apart)
    assert [(run.first, run.last, run.lacking) for run in found] == [(5, 7, 0), (1, 2, 0)]
