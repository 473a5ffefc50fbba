"""Looser: whether one version of reference data asks for less than another.

Each function names the fields in which it does. What may live here: comparisons alone. What warns or counts, and asks
for nothing (`due_soon`, order sizes), is never looser.
"""

from collections.abc import Callable, Iterable, Iterator
from datetime import date
from typing import Any

from service.domain.duties import within_law
from service.domain.kinds.instrument_defined import InstrumentDefined
from service.domain.kinds.item_defined import ItemDefined, ServiceLimit
from service.domain.kinds.model_defined import BatteryLimits, CheckPoint, ModelDefined
from service.domain.kinds.site_defined import SiteDefined
from service.domain.period import Period, longer
from service.domain.policies import Setting
from service.domain.profile import examining
from service.domain.versions import Instant, zone_of
from service.domain.working import WorkingUse, site_uses
from service.reference.examination import USES

Law = tuple[str, str]
"""Profile and device."""


def _longer_or_gone(new: Period | None, old: Period | None) -> bool:
    return old is not None and (new is None or longer(new, old))


def _more_or_gone(new: float | None, old: float | None) -> bool:
    return old is not None and (new is None or new > old)


def _less_or_gone(new: float | None, old: float | None) -> bool:
    return old is not None and (new is None or new < old)


def _dropped(new: object, old: object) -> bool:
    return bool(old) and not new


def _allowed(new: object, old: object) -> bool:
    return bool(new) and not old


VALUES: dict[str, Callable[[Any, Any], bool]] = {
    "cover": longer,
    "count": lambda new, old: old == "working-days" != new,
    "between_wearers": _dropped,
    "in_use_recheck": _longer_or_gone,
    "in_store": _dropped,
    "examination": _dropped,
    "equality_suffices": _allowed,
    "tasks_required": _dropped,
    "confined_proven": _allowed,
    "tolerance": longer,
}


def policy_looser(new: Setting, old: Setting, laws: Iterable[Law]) -> Iterator[str]:
    """Name the values of a policy that ask for less than in another setting of it, under any of the laws it meets."""
    for name, looser in VALUES.items():
        if name in new.values and looser(new.values[name], old.values[name]):
            yield name
    for use in USES:
        under = [examining(profile, device, use) for profile, device in laws]
        if any(_longer_or_gone(within_law(new, law, use)[0], within_law(old, law, use)[0]) for law in under):
            yield f"interval/{use}"


def profile_looser(new: str, old: str, devices: Iterable[str]) -> bool:
    """Say whether a profile examines some use of the devices less often."""
    duties = ((examining(new, device, use), examining(old, device, use)) for device in devices for use in USES)
    return any(_longer_or_gone(later.interval, before.interval) for later, before in duties)


def calendar_looser(new: SiteDefined, old: SiteDefined, since: Instant, until: Instant) -> bool:
    """Say whether uses of [since, until) are gone (R36)."""
    kept = _by_day(site_uses(new, zone_of(new), since, until))
    before = _by_day(site_uses(old, zone_of(old), since, until))
    return any(_gone(uses, kept.get(day, [])) for day, uses in before.items())


def _by_day(uses: Iterable[WorkingUse]) -> dict[date, list[WorkingUse]]:
    days: dict[date, list[WorkingUse]] = {}
    for use in uses:
        days.setdefault(use.day, []).append(use)
    return days


def _gone(old: list[WorkingUse], new: list[WorkingUse]) -> bool:
    """Say whether a day has fewer uses, or one that no longer covers the time it did."""
    return len(new) < len(old) or not all(
        any(kept.start <= use.start and use.end <= kept.end for kept in new) for use in old
    )


def model_looser(new: ModelDefined, old: ModelDefined) -> Iterator[str]:
    """Name what a model asks less of: flow, points, positions, and the marks of loading, charge and age."""
    if _less_or_gone(new.minimum_flow_lpm, old.minimum_flow_lpm):
        yield "minimum_flow_lpm"
    points = {point.point: point for point in new.points}
    if any(point.required and not _as_strict(points.get(point.point), point) for point in old.points):
        yield "points"
    if {p.position for p in old.positions if p.required} - {p.position for p in new.positions if p.required}:
        yield "positions"
    if old.loading and (new.loading is None or new.loading.change_at > old.loading.change_at):
        yield "loading"
    if old.battery and (new.battery is None or _battery_less(new.battery, old.battery)):
        yield "battery"
    if _more_or_gone(new.service_life_months, old.service_life_months):
        yield "service_life_months"


def _as_strict(new: CheckPoint | None, old: CheckPoint) -> bool:
    if new is None or not new.required:
        return False
    return new.on_fail == "withdraw" or old.on_fail == "recheck"


def _battery_less(new: BatteryLimits, old: BatteryLimits) -> bool:
    return new.low_percent < old.low_percent or new.end_of_life_percent < old.end_of_life_percent


def item_looser(new: ItemDefined, old: ItemDefined) -> Iterator[str]:
    """Name the limits of an item's life that are longer or gone."""
    for name in ("shelf_life_months", "after_opening_days"):
        if _more_or_gone(getattr(new, name), getattr(old, name)):
            yield name
    later, before = new.service_limit or ServiceLimit(), old.service_limit or ServiceLimit()
    if any(_more_or_gone(getattr(later, name), getattr(before, name)) for name in ("days", "hours", "shifts")):
        yield "service_limit"


def instrument_looser(new: InstrumentDefined, old: InstrumentDefined) -> Iterator[str]:
    """Name a calibration that holds for longer."""
    if new.calibration_due > old.calibration_due or new.calibrated_on < old.calibrated_on:
        yield "calibration"
