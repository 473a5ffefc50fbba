"""Reference data for the tests of the rulebook: invented, posted and recorded in one line each."""

from datetime import UTC, datetime
from itertools import count
from typing import Any
from uuid import UUID

import msgspec

from service.domain.event import Event
from service.domain.kinds.instrument_defined import InstrumentDefined
from service.domain.kinds.item_defined import ItemDefined
from service.domain.kinds.model_defined import ModelDefined
from service.domain.kinds.policy_set import PolicySet
from service.domain.kinds.site_defined import SiteDefined
from service.domain.kinds.task_defined import TaskDefined
from service.domain.kinds.voided import Voided
from service.domain.recorded import Recorded

EVERY_DAY = {"working_days": ["mon", "tue", "wed", "thu", "fri", "sat", "sun"]}

_seq = count(1)


def day(number: int, month: int = 1, year: int = 2026, hour: int = 0, minute: int = 0) -> datetime:
    """Spell an instant of 2026 in UTC."""
    return datetime(year, month, number, hour, minute, tzinfo=UTC)


def recorded(kind: type[Event], received: datetime, fields: dict[str, Any]) -> Recorded:
    """Record an event as received at a moment; it occurred then, unless the fields say otherwise."""
    seq = next(_seq)
    stamp = {} if "occurred_on" in fields else {"occurred_at": received}
    event = msgspec.convert({"id": UUID(int=seq), "kind": kind.kind, "by": "p-1", **stamp, **fields}, kind)
    return Recorded(
        event=event, organisation=UUID(int=1), seq=seq, received_at=received, recorded_at=received, key=UUID(int=2)
    )


def site(received: datetime, ref: str = "dock", **more: Any) -> Recorded:
    """Define a site, in the UK by default, working every day."""
    fields = {
        "site": ref,
        "name": "Dock",
        "profile": "uk",
        "time_zone": "Europe/London",
        "employer": {"name": "Harrow Fabrication", "address": "1 Dock Road"},
        "calendar": EVERY_DAY,
    }
    return recorded(SiteDefined, received, fields | more)


def model(received: datetime, ref: str = "hood", **more: Any) -> Recorded:
    """Define a model, powered by default."""
    fields: dict[str, Any] = {"model": ref, "name": "Hood", "device": "powered", "fit": "loose"}
    return recorded(ModelDefined, received, fields | {"approvals": [], "positions": [], "points": []} | more)


def item(received: datetime, ref: str = "filter", **more: Any) -> Recorded:
    """Define an item."""
    return recorded(ItemDefined, received, {"item": ref, "name": "Filter", "unit": "C62"} | more)


def task(received: datetime, ref: str = "welding", **more: Any) -> Recorded:
    """Define a task."""
    fields = {"task": ref, "name": "Welding", "substances": [], "oxygen": "proven", "space": "open"}
    return recorded(TaskDefined, received, fields | more)


def instrument(received: datetime, ref: str = "meter", **more: Any) -> Recorded:
    """Define an instrument, in calibration through 2026."""
    fields = {
        "instrument": ref,
        "name": "Meter",
        "measures": ["airflow"],
        "calibrated_on": "2026-01-01",
        "calibration_due": "2026-12-31",
    }
    return recorded(InstrumentDefined, received, fields | more)


def policy(
    received: datetime, name: str, values: dict[str, Any], scope: dict[str, str] | None = None, **more: Any
) -> Recorded:
    """Set a policy, for the whole organisation by default."""
    fields = {"policy": name, "scope": {"organisation": True, **(scope or {})}, "values": values}
    return recorded(PolicySet, received, fields | more)


def voided(received: datetime, target: Recorded) -> Recorded:
    """Void an event."""
    return recorded(Voided, received, {"event": target.event.id, "reason": "entered by mistake"})


def correction(since: datetime) -> dict[str, Any]:
    """Give the fields that make a version bite from an earlier moment."""
    return {"effective_from": since, "correction": True, "reason": "as it was"}
