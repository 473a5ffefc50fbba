"""What was read and found at a check or an examination.

Types are those of CBV 2.0 (measurement types), units codes of UN/ECE Recommendation 20: BAR bar, P1 percent, and, from
memory, L2 litre per minute. A reading that CBV has no type for, as a step of an indicator, has one of our own.
"""

from collections.abc import Iterator, Mapping
from typing import Final, NamedTuple

from service.domain.event import AssetEvent
from service.outbound.epcis.names import Names, own

Json = dict[str, object]


class Reading(NamedTuple):
    """A member of an event, and the type and unit that it is told in."""

    member: str
    type: str
    unit: str


READINGS: Final = (
    Reading("airflow_lpm", "VolumeFlowRate", "L2"),
    Reading("cylinder_bar", "Pressure", "BAR"),
    Reading("battery_percent", "Dimensionless", "P1"),
    Reading("capacity_percent", "Dimensionless", "P1"),
)
MEASURED: Final = frozenset({"airflow_lpm", "cylinder_bar"})
"""What an instrument measures; the rest is read off the unit."""


def sensors(event: AssetEvent, names: Names) -> Json:
    """Give the readings of an event as one sensor element; nothing where there are none."""
    reports = [*_measured(event, names), *_indicated(event, names)]
    return {"sensorElementList": [{"sensorReport": reports}]} if reports else {}


def _measured(event: AssetEvent, names: Names) -> Iterator[Json]:
    instrument = getattr(event, "instrument", None)
    for member, kind, unit in READINGS:
        value = getattr(event, member, None)
        if value is not None:
            by = {"deviceID": names.thing("instruments", instrument)} if instrument and member in MEASURED else {}
            yield {"type": kind, "value": value, "uom": unit, **by, own("reading"): member}


def _indicated(event: AssetEvent, names: Names) -> Iterator[Json]:
    indicator = getattr(event, "airflow_indicator", None)
    if indicator is not None:
        yield {"type": names.term("airflow_indicator"), "stringValue": indicator}
    loading = getattr(event, "filter_loading", None)
    levels = loading if isinstance(loading, Mapping) else {} if loading is None else {None: loading}
    for position, level in levels.items():
        where = {} if position is None else {own("position"): position}
        yield {"type": names.term("filter_loading"), "value": level, **where}


def points(event: AssetEvent) -> Json:
    """Give the result at each point of a check or an examination."""
    found = getattr(event, "points", None)
    if not isinstance(found, Mapping) or not found:
        return {}
    return {own("points"): [{own("point"): point, own("result"): result} for point, result in found.items()]}
