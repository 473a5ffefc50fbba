"""Units that may once have been known to hold more than their registrations tell, one by one."""

from typing import Any, Final

import pytest

from service.domain.recall.once_apart import may_be_before, once_apart
from service.domain.unit import Unit
from tests.domain.folding import recorded
from tests.domain.units import unit
from tests.oracle.firm import register, tell
from tests.oracle.posting import Posted, log, moment

SAID: Final[dict[str, dict[str, Any]]] = {
    "filter-replaced": {"position": "particle-filter", "in": {"item": "p3", "condition": "new"}, "reason": "loading"},
    "part-replaced": {"position": "breathing-tube", "reason": "damage"},
    "part-identified": {"position": "breathing-tube", "part": {"item": "tube", "condition": "new"}},
    "repaired": {"work": ["tube"]},
    "cleaned": {"scope": "unit", "method": "wiped"},
}


def said(at: str, kind: str = "part-replaced", **fields: Any) -> Posted:
    """Change a part, or only clean the unit."""
    return tell(kind, at, **SAID[kind], **fields)


def born(at: str, *, by_day: bool = False) -> Unit:
    """Give a unit that was registered at a moment."""
    return unit(registered_at=moment(at), by_day=by_day)


@pytest.mark.parametrize(
    ("registered", "at", "where", "before"),
    [
        ("2026-01-05 08:00", "2026-01-05 07:59", None, True),
        ("2026-01-05 08:00", "2026-01-05 08:00", None, False),  # a registration goes before a change of its moment
        ("2026-01-05 12:00", "2026-01-05", "dock", True),  # the day may end before it: far in the east
        ("2026-01-05 09:01", "2026-01-05", None, True),
        ("2026-01-05 09:00", "2026-01-05", None, False),  # it ends no sooner anywhere
        ("2026-01-05", "2026-01-06 12:59", None, True),  # the day may end after it: far in the west
        ("2026-01-05", "2026-01-06 13:00", "dock", False),
        ("2026-01-05", "2026-01-05", None, True),  # wherever the unit was
        ("2026-01-05", "2026-01-06", "mesa", True),
        ("2026-01-05", "2026-01-07", None, False),
        ("2026-01-05", "2026-01-04", "dock", True),
        ("2026-01-05", "2026-01-05", "dock", False),  # one day at one site ends at once, whatever its zone
        ("2026-01-05", "2026-01-06", "dock", True),  # the site may have been said to be elsewhere on that day
        ("2026-01-05", "2026-01-07", "dock", False),
    ],
)
def test_parts_may_have_been_changed_before_the_registration(
    registered: str, at: str, where: str | None, *, before: bool
) -> None:
    """A day alone may end as early and as late as it does anywhere. What is folded on is held against it as well."""
    one, other = recorded(log([register(registered), said(at, site=where)]))
    assert once_apart([other, one]) is before
    for ends in ("2026-01-05T09:00", "2026-01-06T13:00"):
        by_day = " " not in registered
        known = born(ends if by_day else registered, by_day=by_day)
        assert may_be_before(other.event, known) or not before


@pytest.mark.parametrize(
    ("by_day", "at", "maybe"),
    [
        (False, "2026-01-05 20:00", False),
        (False, "2026-01-05", True),
        (False, "2026-01-06", False),
        (True, "2026-01-06 23:59", True),
        (True, "2026-01-07 00:00", False),
        (True, "2026-01-07", False),
    ],
)
def test_what_follows_late_enough_follows_wherever_a_day_is_known_to_end(at: str, *, by_day: bool, maybe: bool) -> None:
    """A registration that is known to count at a moment is never known to count over 28 hours later."""
    (row,) = recorded(log([said(at)]))
    assert may_be_before(row.event, born("2026-01-05 20:00", by_day=by_day)) is maybe


@pytest.mark.parametrize(("kind", "changes"), [(kind, kind != "cleaned") for kind in SAID])
def test_only_what_changes_parts_tells_units_apart(kind: str, *, changes: bool) -> None:
    """What leaves every part where it is does not."""
    rows = recorded(log([said("2026-01-04 08:00", kind), register("2026-01-05 08:00")]))
    assert once_apart(rows) is may_be_before(rows[0].event, born("2026-01-05 08:00")) is changes


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
