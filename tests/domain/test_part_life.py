from datetime import date, datetime
from typing import Any

import pytest

from service.domain.part import Part
from service.domain.part_life import ends, opened_ends, opening, overlay, warned, without_schedule, worked
from service.domain.scene import Scene
from service.domain.standing import FOREVER, Mark
from service.domain.unit import Counted, Fitted, Opening, Unit, Wearing
from tests.domain.units import NOON, at, event, unit, world
from tests.oracle.firm import item
from tests.oracle.posting import moment

MONDAY = NOON.date()
WORLD = world(
    item("plain"),
    item("days", service_limit={"days": 30}),
    item("hours", service_limit={"hours": 10}),
    item("shifts", service_limit={"shifts": 2}),
    item("none", service_limit={}),
    item("opened", after_opening_days=10),
)


def fitted(ref: str = "plain", condition: str = "new", **fields: Any) -> Fitted:
    """Fit a part on Monday noon."""
    part = {name: fields.pop(name) for name in ("expires", "opened_on") if name in fields}
    return Fitted(Part(item=ref, condition=condition, **part), NOON, MONDAY, event(1), **fields)  # type: ignore[arg-type] # fields by name


def scene(hours: float = 1, until: datetime = FOREVER, told: Unit | None = None, **options: bool) -> Scene:
    """Look at a unit from so many hours after noon on."""
    return Scene(at(hours), until, WORLD, told or unit(), **options)


CALENDAR = (Counted("dock", MONDAY, "", moment("2026-03-03T00:00:00+00:00")),)
EMPTIED = Fitted(None, NOON, MONDAY, event(1))
ISSUED = unit(where="issued", first_issue=None)


@pytest.mark.parametrize(
    ("expires", "end"), [("2026-03", "2026-04-01T00:00:00+01:00"), ("2026-03-10", "2026-03-11T00:00:00+00:00")]
)
def test_a_shelf_life_ends_with_its_last_day_where_the_unit_is(expires: str, end: str) -> None:
    """A month means its last day; from the end of that day the part is not used (R23, R4)."""
    assert list(ends(fitted(expires=expires), scene())) == [(moment(end), "do-not-use", ("expired",), (event(1),))]


def test_days_of_service_run_from_the_fitting() -> None:
    """Thirty days from Monday 2 March last to the end of 1 April, British summer time."""
    end = moment("2026-04-02T00:00:00+01:00")
    assert list(ends(fitted("days"), scene())) == [(end, "overdue", ("service-limit",), (event(1),))]


def test_days_of_service_of_a_refitted_part_run_from_its_opening() -> None:
    """A part that served before counts from the day it was opened, if that is stated."""
    [mark] = ends(fitted("days", "refitted", opened_on=date(2026, 2, 20)), scene())
    assert mark[0] == moment("2026-03-23T00:00:00+00:00")
    [mark] = ends(fitted("days", "refitted"), scene())
    assert mark[0] == moment("2026-04-02T00:00:00+01:00")
    [mark] = ends(fitted("days", opened_on=date(2026, 2, 20)), scene())
    assert mark[0] == moment("2026-04-02T00:00:00+01:00")


@pytest.mark.parametrize("ref", ["plain", "none", "hours", "nobody-defined"])
def test_a_part_without_dates_has_no_end(ref: str) -> None:
    """Neither an item without limits, nor one nobody defined, nor an emptied position ends."""
    assert list(ends(fitted(ref), scene())) == []
    assert list(ends(EMPTIED, scene())) == []


def test_time_since_opening_runs_out() -> None:
    """Ten days from the day it was opened, to the end of the last."""
    opened = Opening(NOON, MONDAY)
    mark = (moment("2026-03-13T00:00:00+00:00"), "overdue", ("service-limit",), (event(1),))
    assert list(opened_ends(fitted("opened"), opened, scene())) == [mark]
    assert list(opened_ends(fitted("opened"), None, scene())) == []
    assert list(opened_ends(fitted("plain"), opened, scene())) == []
    assert list(opened_ends(fitted("nobody-defined"), opened, scene())) == []
    assert list(opened_ends(EMPTIED, opened, scene())) == []


def test_a_part_that_is_not_sealed_is_open_as_it_is_fitted() -> None:
    """Only a new gas filter is sealed."""
    assert opening(fitted(), scene(), gas=False) == Opening(NOON, MONDAY)
    assert opening(fitted(condition="refitted"), scene(), gas=True) == Opening(NOON, MONDAY)
    assert opening(fitted(), scene(), gas=True) is None
    assert opening(EMPTIED, scene(), gas=True) is None


def test_a_sealed_filter_is_opened_by_its_first_use() -> None:
    """As known, or by the next use that the calendar foresees, or by a wearing that goes on (R23)."""
    used = Opening(at(3), MONDAY)
    assert opening(fitted(used=used), scene(5), gas=True) == used
    tuesday = moment("2026-03-03T00:00:00+00:00")
    assert opening(fitted(), scene(12, told=ISSUED), gas=True) == Opening(tuesday, date(2026, 3, 3))
    assert opening(fitted(), scene(5, told=ISSUED, foresees=False), gas=True) is None
    worn = unit(wearings=(Wearing("p-1", at(0), event(2), at(6)),))
    assert opening(fitted(), scene(5, told=worn), gas=True) == Opening(at(5), MONDAY)
    assert opening(fitted(), scene(6, told=worn), gas=True) is None
    endless = unit(wearings=(Wearing("p-1", at(5), event(2)),))
    assert opening(fitted(), scene(5, told=endless), gas=True) is None


def test_the_earlier_of_what_is_stated_and_what_is_known_counts() -> None:
    """A stated opening counts from the start of its day, unless the part was open before."""
    sunday = date(2026, 3, 1)
    assert opening(fitted(opened_on=sunday), scene(), gas=True) == Opening(moment("2026-03-01T00:00:00+00:00"), sunday)
    assert opening(fitted(opened_on=sunday), scene(), gas=False) == Opening(moment("2026-03-01T00:00:00+00:00"), sunday)
    later = fitted(opened_on=date(2026, 3, 5), used=Opening(at(3), MONDAY))
    assert opening(later, scene(5), gas=True) == Opening(at(3), MONDAY)


@pytest.mark.parametrize("ref", ["plain", "none", "nobody-defined"])
def test_an_opened_gas_filter_without_a_schedule_is_not_used(ref: str) -> None:
    """From its opening on, if its item has neither a service limit nor days after opening (R23)."""
    opened = Opening(at(3), MONDAY)
    assert list(without_schedule(fitted(ref), opened, scene())) == [
        (at(3), "do-not-use", ("no-schedule",), (event(1),))
    ]
    assert list(without_schedule(fitted(ref), None, scene())) == []


@pytest.mark.parametrize("ref", ["days", "hours", "shifts", "opened"])
def test_any_limit_is_a_schedule(ref: str) -> None:
    """Days, hours or shifts of service, or days after opening."""
    assert list(without_schedule(fitted(ref), Opening(NOON, MONDAY), scene())) == []


@pytest.mark.parametrize(
    ("uses", "before", "reached"),
    [(2, 0, "2026-03-03"), (3, 0, "now"), (5, 2, "now"), (4, 2, "2026-03-03"), (3, 2, "2026-03-04")],
)
def test_shifts_are_overdue_beyond_the_limit(uses: int, before: int, reached: str) -> None:
    """Two shifts are allowed: the third use since the fitting is one too many; uses before it do not count."""
    told = unit(where="issued", uses=uses, counted=())
    monday = told if reached == "now" else unit(where="issued", uses=uses, counted=CALENDAR)
    [mark] = worked(fitted("shifts", uses_before=before), scene(told=monday))
    expected = at(1) if reached == "now" else moment(f"{reached}T00:00:00+00:00")
    assert mark == (expected, "overdue", ("service-limit",), (event(1),))


HOURS = 10 * 3600 * 10**6


@pytest.mark.parametrize(
    ("worn", "before", "until", "reached"),
    [
        (HOURS, 0, None, 1),
        (HOURS - 1, 0, None, None),
        (HOURS + 5, 5, None, 1),
        (HOURS, 1, None, None),
        (HOURS // 2, 0, 6, 6),
        (HOURS // 2, 0, 5.99, None),
        (HOURS // 2, 0, 9, 6),
    ],
)
def test_hours_are_reached_within_the_wearing_that_goes_on(
    worn: int, before: int, until: float | None, reached: float | None
) -> None:
    """Ten hours worn since the fitting are the limit: reached already, within a wearing to its end, or not yet."""
    wearings = () if until is None else (Wearing("p-1", at(0), event(2), at(until)),)
    told = unit(worn=worn, wearings=wearings)
    [mark] = worked(fitted("hours", worn_before=before), scene(told=told))
    assert mark == (at(reached) if reached else FOREVER, "overdue", ("service-limit",), (event(1),))


def test_wearings_that_overlap_each_serve() -> None:
    """Five hours are left: two wearings use up two of them in an hour, then one goes on alone."""
    wearings = (Wearing("p-1", at(0), event(2), at(2)), Wearing("p-2", at(0), event(3), at(9)))
    told = unit(worn=HOURS // 2, wearings=wearings)
    [mark] = worked(fitted("hours"), scene(told=told))
    assert mark[0] == at(5)
    [mark] = worked(fitted("hours"), scene(told=unit(worn=HOURS - 3600 * 10**6, wearings=wearings)))
    assert mark[0] == at(1.5)


@pytest.mark.parametrize("ref", ["plain", "days", "nobody-defined"])
def test_a_part_without_limits_of_work_is_never_worked_out(ref: str) -> None:
    """Days are no limit of work."""
    assert list(worked(fitted(ref), scene())) == []
    assert list(worked(EMPTIED, scene())) == []


def test_each_end_is_preceded_by_its_warning() -> None:
    """Seven days before by the local clock, but no earlier than the opening."""
    end: Mark = (moment("2026-04-01T00:00:00+01:00"), "overdue", ("service-limit",), ())
    assert list(warned([end], scene(), NOON)) == [(moment("2026-03-25T00:00:00+00:00"), "due-soon", (), ()), end]
    late = moment("2026-03-30T00:00:00+00:00")
    assert list(warned([end], scene(), late)) == [(late, "due-soon", (), ()), end]


def test_overlaid_marks_keep_the_worst_so_far() -> None:
    """From each mark on the worst holds, with all reasons and the events of the worst; warnings have no reasons."""
    marks: list[Mark] = [
        (at(3), "do-not-use", ("expired",), (event(2),)),
        (at(1), "due-soon", (), ()),
        (at(2), "overdue", ("loading",), (event(1),)),
        (at(4), "overdue", ("service-limit",), (event(3),)),
        (at(5), "do-not-use", ("expired",), (event(4), event(2))),
    ]
    assert overlay(at(0), marks) == [
        (at(0), "in-date", (), ()),
        (at(1), "due-soon", (), ()),
        (at(2), "overdue", ("loading",), (event(1),)),
        (at(3), "do-not-use", ("expired", "loading"), (event(2),)),
        (at(4), "do-not-use", ("expired", "loading", "service-limit"), (event(2),)),
        (at(5), "do-not-use", ("expired", "loading", "service-limit"), (event(2), event(4))),
    ]
