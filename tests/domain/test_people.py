from datetime import date
from typing import Any

import pytest

from service.domain.conflict import Conflict
from service.domain.facts import fold_key
from service.domain.kinds.authorisation_ended import AuthorisationEnded
from service.domain.kinds.trained import Trained
from service.domain.people import Act, Dated, People, contradictions, granted
from tests.domain.units import at, row
from tests.oracle.posting import say


def trained(hours: float, by: str = "adm", **fields: Any) -> Dated:
    """Train ex-1 to examine, so many hours after noon."""
    given = {"person": "ex-1", "competences": ["examine"]} | fields
    event = row(say("trained", at(hours).isoformat(), by, **given)).event
    assert isinstance(event, Trained)
    return Dated(event, fold_key(event, at(hours)))


def ended(hours: float, **fields: Any) -> Dated:
    """End an authorisation of ex-1 to examine."""
    given = {"person": "ex-1", "of": "examine"} | fields
    event = row(say("authorisation-ended", at(hours).isoformat(), "m-1", **given)).event
    assert isinstance(event, AuthorisationEnded)
    return Dated(event, fold_key(event, at(hours)))


def act(hours: float, on: date = date(2026, 3, 2), model: str = "hood", result: str = "pass") -> Act:
    """Examine a unit, so many hours after noon."""
    event = row(say("examined", at(hours).isoformat(), "ex-1", asset="A-1", points={}, result=result), 2).event
    return Act(fold_key(event, at(hours)), on, model)


def test_a_competence_counts_from_its_training_on() -> None:
    """Before the training there is no competence, from its instant on there is: persons come before acts (R2)."""
    people = People([trained(0)])
    assert [people.may("ex-1", "examine", act(hours)) for hours in (-1, 0, 1)] == [False, True, True]


def test_a_competence_is_one_persons() -> None:
    """Neither another person nor another competence is granted."""
    people = People([trained(0)])
    assert not people.may("ex-2", "examine", act(1))
    assert not people.may("ex-1", "repair", act(1))


def test_a_training_lasts_to_the_end_of_its_last_day() -> None:
    """The last day belongs to the training, by the calendar where the act is (R4)."""
    people = People([trained(0, valid_until="2026-03-04")])
    assert people.may("ex-1", "examine", act(60, date(2026, 3, 4)))
    assert not people.may("ex-1", "examine", act(60, date(2026, 3, 5)))


def test_training_never_shortens() -> None:
    """A later training with an earlier end takes nothing back (R28)."""
    people = People([trained(0, valid_until="2026-12-31"), trained(5, valid_until="2026-03-03")])
    assert people.may("ex-1", "examine", act(100, date(2026, 6, 1)))


def test_training_for_models_counts_for_those() -> None:
    """A training that names models counts for them alone; one that names none for all."""
    people = People([trained(0, models=["mask"])])
    assert people.may("ex-1", "examine", act(1, model="mask"))
    assert not people.may("ex-1", "examine", act(1, model="hood"))


def test_an_end_takes_the_competence_until_it_is_granted_anew() -> None:
    """After the end there is no competence; a new training begins again (R28)."""
    people = People([trained(0), ended(10), trained(20)])
    assert [people.may("ex-1", "examine", act(hours)) for hours in (5, 15, 25)] == [True, False, True]


def test_good_news_of_the_instant_of_the_end_still_counts() -> None:
    """At one instant the good comes before the bad: a pass still rests on the competence, a failure does not (R2)."""
    people = People([trained(0), ended(10)])
    assert people.may("ex-1", "examine", act(10))
    assert not people.may("ex-1", "examine", act(10, result="fail"))


def test_an_end_for_a_model_leaves_the_others() -> None:
    """An end that names a model ends the competence for that one."""
    people = People([trained(0), ended(10, model="mask")])
    assert people.may("ex-1", "examine", act(15, model="hood"))
    assert not people.may("ex-1", "examine", act(15, model="mask"))


def test_an_end_of_something_else_ends_nothing() -> None:
    """Only the competence named is ended."""
    assert People([trained(0), ended(10, of="repair")]).may("ex-1", "examine", act(15))


@pytest.mark.parametrize(
    ("by", "competences", "counts", "conflict"),
    [
        ("adm", ["wear", "examine"], ("wear", "examine"), ()),
        ("ex-1", ["wear", "examine"], ("wear",), (Conflict("self-granted-competence"),)),
        ("ex-1", ["wear"], ("wear",), ()),
        ("ex-1", ["release"], (), (Conflict("self-granted-competence"),)),
    ],
)
def test_nobody_grants_themselves_more_than_wear(
    by: str, competences: list[str], counts: tuple[str, ...], conflict: tuple[Conflict, ...]
) -> None:
    """One's own word counts for `wear` only, and more than that is a conflict (R49)."""
    event = trained(0, by, competences=competences).event
    assert isinstance(event, Trained)
    assert granted(event) == counts
    assert contradictions(event) == conflict
