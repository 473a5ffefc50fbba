"""Reference data as messages: sites, models, items, tasks, instruments and policies, in the order they are posted.

What has one version holds for all earlier time and says no more. Where there are several, each says from when it
holds, that it corrects the past, and why: without that it would hold from its receipt, after those that say so.
"""

from datetime import datetime, timedelta

from seed.days import midnight
from seed.definitions import item_fields, model_fields
from seed.instruments import calibrations
from seed.items import ITEMS
from seed.models import MODELS
from seed.policies import POLICIES
from seed.sites import SITES, Shift, Site, closures, employer
from seed.tasks import TASKS
from seed.world import MANAGER, RECORDS, World


def post(world: World) -> None:
    """Post all reference data with the record keeper's name, policies with the manager's."""
    at = midnight(SITES[0], world.start - timedelta(days=45))
    years = range(world.start.year, world.end.year + 2)
    for site in SITES:
        first = _since(at, "As it was when the year began.") if site.added else {}
        _write(world, "site-defined", at, site_fields(site, years, site.shifts) | first)
    for model in MODELS:
        _write(world, "model-defined", at, model_fields(model))
    for item in ITEMS:
        _write(world, "item-defined", at, item_fields(item))
    for task in TASKS:
        _write(world, "task-defined", at, task)
    _instruments(world)
    for site in (site for site in SITES if site.added):
        since = midnight(site, world.middle)
        fields = site_fields(site, years, (*site.shifts, *site.added)) | _since(since, "A second shift was added.")
        _write(world, "site-defined", since, fields)
    _policies(world, at)


def _write(world: World, kind: str, at: datetime, fields: dict[str, object], by: str = RECORDS) -> None:
    world.book.write(kind, at, by, None, None, fields)


def _since(at: datetime, reason: str) -> dict[str, object]:
    return {"effective_from": at.isoformat(), "correction": True, "reason": reason}


def _policies(world: World, at: datetime) -> None:
    for policy in POLICIES:
        scope = {"organisation": True, "site": policy.site, "model": policy.model}
        since = midnight(SITES[0], world.start - timedelta(days=20) + timedelta(days=policy.after_days))
        fields = {
            "policy": policy.name,
            "scope": {name: value for name, value in scope.items() if value is not None},
            "values": policy.values,
            **_since(since, policy.reason),
        }
        _write(world, "policy-set", since if policy.after_days else at, fields, MANAGER)


def site_fields(site: Site, years: range, shifts: tuple[Shift, ...]) -> dict[str, object]:
    """Write a site down, with its closures of some years."""
    closed = [span for year in years for span in closures(site, year)]
    return {
        "site": site.ref,
        "name": site.name,
        "region": site.region,
        "profile": site.profile,
        "time_zone": site.zone,
        "employer": employer(site),
        "calendar": {
            "working_days": list(site.working_days),
            "closed": [{"from": first.isoformat(), "to": last.isoformat()} for first, last in closed],
            "shifts": [
                {
                    "name": shift.name,
                    "starts": f"{shift.starts // 60:02d}:{shift.starts % 60:02d}",
                    "lasts": f"PT{shift.lasts // 60}H" + (f"{shift.lasts % 60}M" if shift.lasts % 60 else ""),
                }
                for shift in shifts
            ],
        },
        "opened_on": "2011-04-04",
    }


def _instruments(world: World) -> None:
    """Post each calibration as of its day."""
    for calibration in calibrations(world.start, world.end):
        since = midnight(SITES[0], calibration.done)
        fields: dict[str, object] = {
            "instrument": calibration.instrument,
            "name": f"Flow meter {calibration.instrument}",
            "measures": ["airflow"],
            "calibrated_on": calibration.done.isoformat(),
            "calibration_due": calibration.due.isoformat(),
        }
        _write(world, "instrument-defined", since, fields | _since(since, "Calibrated on this day."))
