"""Units, facts and worlds for tests that look at one function of the domain: invented, in one line each."""

from collections.abc import Iterable
from datetime import UTC, date, datetime, timedelta
from typing import Any
from uuid import UUID

import msgspec

from service.domain.codec import decode
from service.domain.context import world_of
from service.domain.event import AssetEvent
from service.domain.facts import Fact, place
from service.domain.fold import Story
from service.domain.kinds.model_defined import ModelDefined
from service.domain.recorded import Recorded
from service.domain.unit import Dated, Evidence, Unit
from service.domain.world import World
from tests.domain.folding import Folding, key_of, keys, recorded
from tests.oracle.firm import PLAIN
from tests.oracle.posting import Posted, log
from tests.oracle.record import Report

NOON = datetime(2026, 3, 2, 12, tzinfo=UTC)
HOUR = timedelta(hours=1)
DAY = timedelta(days=1)


def at(hours: float) -> datetime:
    """Give the moment so many hours after noon of Monday 2 March 2026 (UTC)."""
    return NOON + hours * HOUR


def event(number: int) -> UUID:
    """Give the id of an event."""
    return UUID(int=number)


def evidence(hours: float, number: int = 1) -> Evidence:
    """Make evidence so many hours after noon."""
    return Evidence(at(hours), event(number))


def dated(day: date, number: int = 1) -> Dated:
    """Make dated evidence of a day."""
    return Dated(datetime(day.year, day.month, day.day, 9, tzinfo=UTC), day, event(number))


def unit(**fields: Any) -> Unit:
    """Make a unit: a hood at the dock, in store since January."""
    given: dict[str, Any] = {
        "unit": UUID(int=999),
        "tag": "A-1",
        "model": "hood",
        "serial": "S-1",
        "maker": "Invented Air",
        "registered_at": datetime(2026, 1, 5, 8, tzinfo=UTC),
        "site": "dock",
    }
    return Unit(**given | fields)


def world(*more: Posted) -> World:
    """Make the world of the invented firm, with what else is said of it."""
    records = log([*PLAIN, *more])
    return world_of((row for row in recorded(records) if not isinstance(row.event, AssetEvent)), keys(records))


def row(posted: Posted, number: int = 1, **fields: Any) -> Recorded:
    """Record one message; fields of the record may be given."""
    found = Recorded(
        event=decode(msgspec.json.encode({"id": str(event(number)), **posted.message})),
        organisation=UUID(int=7),
        seq=number,
        received_at=posted.received_at,
        recorded_at=posted.received_at,
        sent_at=posted.sent_at,
        key=key_of(posted.key),
        imported=posted.imported,
    )
    return msgspec.structs.replace(found, **fields)


def fact(posted: Posted, there: World, number: int = 1, **fields: Any) -> Fact:
    """Place one message about a unit of the dock."""
    return place(row(posted, number, **fields), "dock", there)


def model(**fields: Any) -> ModelDefined:
    """Make a powered model with an airflow, an alarm and a battery point."""
    given: dict[str, Any] = {
        "kind": "model-defined",
        "id": str(event(900)),
        "occurred_at": "2025-01-01T00:00:00Z",
        "by": "adm",
        "model": "hood",
        "name": "Hood",
        "device": "powered",
        "fit": "loose",
        "approvals": [],
        "positions": [],
        "points": [
            {"point": "airflow", "role": "airflow", "required": True, "on_fail": "withdraw"},
            {"point": "alarm", "role": "alarm", "required": True, "on_fail": "withdraw"},
            {"point": "battery", "role": "battery", "required": True, "on_fail": "recheck"},
            {"point": "visor", "role": "other", "required": False, "on_fail": "recheck"},
        ],
        "minimum_flow_lpm": 160,
        "plausible_flow_lpm": [20, 400],
        "battery": {"low_percent": 20, "capacity_wh": 60, "end_of_life_percent": 80},
    }
    return msgspec.convert(given | fields, ModelDefined)


def told(posted: Iterable[Posted], *, base: list[Posted] = PLAIN, reports: Iterable[Report] = ()) -> Story:
    """Fold messages after the set-up of the firm and give the story of the first unit registered."""
    folding = Folding(log([*base, *posted]), list(reports))
    return next(iter(folding.stories().values()))
