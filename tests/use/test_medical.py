"""Medical data stays out: what gives it away in a refused message, and what is kept of it then."""

import msgspec
import pytest

from service.domain.kinds import KINDS
from service.domain.problem import Fault, Problem
from service.recording.medical import HUSHED, hushed, medical_fields


@pytest.mark.parametrize(
    ("raw", "kind", "fields"),
    [
        (b'{"kind":"medically-cleared","until":"has asthma"}', "medically-cleared", ("kind", "until")),
        (b'{"kind":"medically-cleared","until', "medically-cleared", ("kind",)),
        (b'{"kind":"worn","person":{"diagnosis":"x"}}', "worn", ("kind", "person", "diagnosis")),
        (b'{"kind":"worn","notes":[{"a":1},{"lungDisease":"x"}]}', "worn", ("kind", "notes", "a", "lungDisease")),
        (b'{"kind":"worn","blood-pressure":"150", broken', "worn", ("kind", "blood-pressure")),
        (b'{"health":"poor","health":"good"}', None, ("health",)),
        (b'{"medical_notes":1,"he said: ":2,"":3}', None, ("medical_notes",)),
        (b'{"kind":"checked","battery_health":91}', "checked", None),
        (
            b'{"kind":"checked","filter_health":"good","symptoms":"none"}',
            "checked",
            ("kind", "filter_health", "symptoms"),
        ),
        (b'{"kind":"checked","remark":"symptoms of asthma"}', "checked", None),
        (b'{"kind":"checked","conditional":true,"bloody":1}', "checked", None),
        (b"[]", None, None),
        (b"\xff\xfe", None, None),
        (b"[" * 100_000, None, None),
    ],
)
def test_medical_data_is_given_away_by_kind_or_field(
    raw: bytes, kind: str | None, fields: tuple[str, ...] | None
) -> None:
    """By a clearance that is no event, or a word of health in the name of a field; then plain field names are told."""
    assert medical_fields(raw, kind) == fields


def test_no_field_of_any_kind_is_medical() -> None:
    """What the service asks for is never taken for medical data."""
    for kind in KINDS:
        if kind.kind != "medically-cleared":
            assert medical_fields(msgspec.json.encode(kind.example), kind.kind) is None, kind.kind


def test_field_names_are_bounded() -> None:
    """Of a message with many fields a hundred names are told, none of them long."""
    raw = msgspec.json.encode({f"diagnosis_{place}": 1 for place in range(150)} | {"d" * 41: 1})
    names = medical_fields(raw, None)
    assert names is not None
    assert (len(names), names[-1]) == (100, "diagnosis_99")


def test_problem_is_kept_without_what_was_said() -> None:
    """Of the problem the places at fault stay, and no word of the sender's."""
    problem = Problem(
        code="malformed",
        detail="Invalid enum value 'asthma'",
        errors=(Fault("Invalid enum value 'asthma'", pointer="/until"),),
        members={"reference": "asthma"},
    )
    assert hushed(problem) == Problem(code="malformed", detail=HUSHED, errors=(Fault(HUSHED, pointer="/until"),))
