"""What keys of other sites than a unit's are told of the conflicts of an event."""

import msgspec
import pytest

from service.domain.afar import OPEN, RETIRED, seen_from_afar
from service.domain.codec import decode
from service.domain.conflict import CODES, Conflict
from service.domain.event import Event
from service.domain.kinds import BY_NAME

NOT_RECEIVED, OF_ANOTHER_SITE = Conflict("not-received"), Conflict("unit-of-another-site")


def an(kind: str) -> Event:
    """Give an event of a kind."""
    return decode(msgspec.json.encode(BY_NAME[kind].example))


def test_the_codes_are_of_the_closed_list() -> None:
    """What is told and what stands for a retirement are conflicts that there are."""
    assert set(CODES) > OPEN | RETIRED
    assert {code for code in CODES if code.endswith("while-retired")} == RETIRED


@pytest.mark.parametrize("code", sorted(CODES.keys() - OPEN - RETIRED))
def test_what_the_other_site_has_on_record_is_not_told(code: str) -> None:
    """Neither a code that tells of the unit nor its reasons are told; what stands beside it is, in its order."""
    competence = Conflict("unknown-competence", ("release",))
    every = (competence, Conflict(code, ("contamination",)), NOT_RECEIVED)
    assert seen_from_afar(an("released"), every) == (competence, NOT_RECEIVED)


@pytest.mark.parametrize(
    ("kind", "code", "told"),
    [
        ("worn", "worn-while-retired", (NOT_RECEIVED,)),
        ("checked", "checked-while-retired", (NOT_RECEIVED,)),
        ("issued", "issued-while-retired", (NOT_RECEIVED,)),
        ("released", "while-retired", (OF_ANOTHER_SITE,)),
        ("missing", "while-retired", ()),
    ],
)
def test_a_retirement_is_told_as_what_any_unit_elsewhere_would_be(
    kind: str, code: str, told: tuple[Conflict, ...]
) -> None:
    """What the same event contradicts of a unit elsewhere that is in use is told in its place, once."""
    assert seen_from_afar(an(kind), [Conflict(code)]) == told
    assert seen_from_afar(an(kind), [Conflict(code), *told]) == told


def test_without_conflicts_nothing_is_told() -> None:
    """An event that contradicts nothing is told to contradict nothing."""
    assert seen_from_afar(an("worn"), []) == ()
