"""Units that may once have been known to hold more than their registrations tell, one by one."""

from typing import Any, Final

import pytest

from service.domain.recall.once_apart import may_be_before, once_apart
from tests.domain.folding import recorded
from tests.oracle.firm import register, tell
from tests.oracle.posting import Posted, log, moment

SAID: Final[dict[str, dict[str, Any]]] = {
    "filter-replaced": {"position": "particle-filter", "in": {"item": "p3", "condition": "new"}, "reason": "loading"},
    "part-replaced": {"position": "breathing-tube", "reason": "damage"},
    "part-identified": {"position": "breathing-tube", "part": {"item": "tube", "condition": "new"}},
    "repaired": {"work": ["tube"]},
    "cleaned": {"scope": "unit", "method": "wiped"},
}


def said(at: str, kind: str = "part-replaced") -> Posted:
    """Change a part, or only clean the unit."""
    return tell(kind, at, **SAID[kind])


@pytest.mark.parametrize(
    ("registered", "at", "before"),
    [
        ("2026-01-05 08:00", "2026-01-05 07:59", True),
        ("2026-01-05 08:00", "2026-01-05 08:00", False),  # a registration goes before a change of its moment
        ("2026-01-05 08:00", "2026-01-05", True),  # the day may end before it: far in the east
        ("2026-01-05 08:00", "2026-01-06", False),  # it ends no earlier than it begins in UTC
        ("2026-01-05 00:00", "2026-01-05", False),
        ("2026-01-05", "2026-01-06 23:59", True),  # the day may end after it: far in the west
        ("2026-01-05", "2026-01-07 00:00", False),
        ("2026-01-05", "2026-01-06", True),
        ("2026-01-05", "2026-01-07", False),
    ],
)
def test_parts_may_have_been_changed_before_the_registration(registered: str, at: str, *, before: bool) -> None:
    """A day alone may end as early and as late as it does anywhere. What is folded on is held against it as well."""
    one, other = recorded(log([register(registered), said(at)]))
    assert once_apart([other, one]) is before
    known_to_count = moment(registered if " " in registered else f"{registered}T10:00")  # as in the east
    assert may_be_before(other.event, known_to_count) or not before


def test_what_follows_two_days_later_follows_however_a_day_is_known_to_end() -> None:
    """A registration that is known to count at a moment is never known to count so much later."""
    late, soon = recorded(log([said("2026-01-07 08:00"), said("2026-01-07 07:59")]))
    registered_at = moment("2026-01-05 08:00")
    assert (may_be_before(late.event, registered_at), may_be_before(soon.event, registered_at)) == (False, True)


@pytest.mark.parametrize(("kind", "changes"), [(kind, kind != "cleaned") for kind in SAID])
def test_only_what_changes_parts_tells_units_apart(kind: str, *, changes: bool) -> None:
    """What leaves every part where it is does not."""
    rows = recorded(log([said("2026-01-04 08:00", kind), register("2026-01-05 08:00")]))
    assert once_apart(rows) is may_be_before(rows[0].event, moment("2026-01-05 08:00")) is changes


@pytest.mark.parametrize(
    ("told", "apart"),
    [
        ([], False),
        ([said("2026-01-04 08:00")], False),  # there is no unit of which it could be said
        ([register()], False),
        ([register(), register(tag="A-2")], True),
    ],
)
def test_several_registrations_of_one_kin_are_apart(told: list[Posted], *, apart: bool) -> None:
    """Whichever of them was taken back or tells of another unit, they were or will be known as of one."""
    assert once_apart(recorded(log(told))) is apart
