"""What a pre-use check says, whoever calls it passed or failed."""

from typing import Any, ClassVar, Final, Literal

from service.domain.event import AssetEvent
from service.domain.words import FilterLoading, Flow, Percent, Points, Ref, Text

CHECK_EXAMPLE: Final[dict[str, Any]] = {
    "asset": "FX-0142",
    "points": {
        "airflow": "pass",
        "low-flow-alarm": "pass",
        "filters-fitted": "pass",
        "breathing-tube": "pass",
        "battery": "pass",
        "spark-arrestor": "not-applicable",
    },
    "airflow_lpm": 186.0,
    "airflow_indicator": "above",
    "battery_percent": 84.0,
    "capacity_percent": 91.5,
    "filter_loading": 1,
    "wearer": "p-3071",
    "instrument": "flow-meter-2",
    "action": "tube connection tightened",
}


class CheckEvent(AssetEvent, frozen=True, kw_only=True):
    """The fields of `checked` and `failed-check`. `filter_loading` speaks of the particle filter, or by position."""

    kept_out: ClassVar[tuple[str, ...]] = ("remark", "action")

    points: Points
    airflow_lpm: Flow | None = None
    airflow_indicator: Literal["above", "below"] | None = None
    battery_percent: Percent | None = None
    capacity_percent: Percent | None = None
    filter_loading: FilterLoading | None = None
    wearer: Ref | None = None
    instrument: Ref | None = None
    action: Text | None = None
