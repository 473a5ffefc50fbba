"""A kind of unit as the firm defines it."""

from collections.abc import Iterator
from typing import Annotated, Any, ClassVar, Literal

from msgspec import Meta, field
from typing_extensions import override

from service.domain.event import ReferenceEvent
from service.domain.sample import sample
from service.domain.value import FieldError, Value, each_once
from service.domain.words import MANY, Fit, Flow, Jurisdiction, Label, Level, Months, Percent, Ref, Refs

Device = Literal["powered", "negative-pressure", "airline", "cylinder"]
PositionRole = Literal["particle", "gas", "pre-filter", "spark-arrestor", "tube", "battery", "headtop", "other"]
PointRole = Literal["airflow", "alarm", "battery", "filters", "tube", "face-seal", "other"]


class Approval(Value, frozen=True, kw_only=True):
    """An approval in one jurisdiction; `factor_evidence` names the maker's evidence of a higher factor."""

    jurisdiction: Jurisdiction
    class_: Label = field(name="class")
    standard: Label
    edition: Label
    number: Label | None = None
    factor_evidence: Label | None = None


class FlowSetting(Value, frozen=True, kw_only=True):
    """A step of the blower and the flow it gives."""

    name: Ref
    flow_lpm: Flow


class Position(Value, frozen=True, kw_only=True):
    """A place for a part, and the items listed for it."""

    position: Ref
    role: PositionRole
    items: Refs
    required: bool


class Assembly(Value, frozen=True, kw_only=True):
    """A combination of parts approved together: for each position named, the items allowed in it."""

    name: Ref
    items: Annotated[dict[Ref, Refs], Meta(min_length=1, max_length=MANY)]


class CheckPoint(Value, frozen=True, kw_only=True):
    """A point of a check or an examination, and what its failure means (design 3.4)."""

    point: Ref
    role: PointRole | None = None
    required: bool
    on_fail: Literal["recheck", "withdraw"]


class LoadingScale(Value, frozen=True, kw_only=True):
    """The steps of the filter indicator, and the one at which the filter is changed."""

    levels: Level
    change_at: Level

    @override
    def wrong(self) -> Iterator[FieldError]:
        """Refuse a mark above the scale."""
        if self.change_at > self.levels:
            yield FieldError("change_at", "must not be above levels")


class BatteryLimits(Value, frozen=True, kw_only=True):
    """The charge below which a unit is not used, the capacity when new, and the share of it left at end of life."""

    low_percent: Percent
    capacity_wh: Annotated[float, Meta(gt=0, le=10_000)]
    end_of_life_percent: Percent


class RunTime(Value, frozen=True, kw_only=True):
    """How long a battery lasts at a setting and a loading level, by the maker's curve."""

    battery_item: Ref
    setting: Ref
    loading: Level
    minutes: Annotated[int, Meta(ge=0, le=100_000)]


class ModelDefined(ReferenceEvent, frozen=True, kw_only=True):
    """What a unit of this model is made of, must deliver and is checked for."""

    example: ClassVar[dict[str, Any]] = sample(
        "model-defined",
        {
            "effective_from": "2026-03-02T00:00:00+00:00",
            "correction": True,
            "reason": "in use before the records began",
            "model": "northwind-2",
            "name": "Northwind 2 powered hood",
            "maker": "mk-7",
            "device": "powered",
            "fit": "loose",
            "approvals": [
                {
                    "jurisdiction": "uk",
                    "class": "TH3",
                    "standard": "EN 12941",
                    "edition": "2023",
                    "number": "N-2-0417",
                    "factor_evidence": "maker's report 88",
                }
            ],
            "minimum_flow_lpm": 160.0,
            "plausible_flow_lpm": [80.0, 320.0],
            "settings": [{"name": "normal", "flow_lpm": 170.0}, {"name": "boost", "flow_lpm": 200.0}],
            "positions": [
                {"position": "particle-filter", "role": "particle", "items": ["pf-170"], "required": True},
                {"position": "battery", "role": "battery", "items": ["bat-64", "bat-90"], "required": True},
            ],
            "assemblies": [{"name": "standard", "items": {"battery": ["bat-64"], "particle-filter": ["pf-170"]}}],
            "points": [
                {"point": "airflow", "role": "airflow", "required": True, "on_fail": "withdraw"},
                {"point": "battery", "role": "battery", "required": True, "on_fail": "recheck"},
            ],
            "loading": {"levels": 5, "change_at": 4},
            "battery": {"low_percent": 20.0, "capacity_wh": 64.0, "end_of_life_percent": 80.0},
            "run_time": [{"battery_item": "bat-64", "setting": "normal", "loading": 1, "minutes": 520}],
            "service_life_months": 96,
        },
    )

    model: Ref
    name: Label
    maker: Label | None = None
    device: Device
    fit: Fit
    approvals: Annotated[tuple[Approval, ...], Meta(max_length=MANY)]
    minimum_flow_lpm: Flow | None = None
    plausible_flow_lpm: tuple[Flow, Flow] | None = None
    settings: Annotated[tuple[FlowSetting, ...], Meta(max_length=MANY)] = ()
    positions: Annotated[tuple[Position, ...], Meta(max_length=MANY)]
    assemblies: Annotated[tuple[Assembly, ...], Meta(max_length=MANY)] = ()
    points: Annotated[tuple[CheckPoint, ...], Meta(max_length=MANY)]
    loading: LoadingScale | None = None
    battery: BatteryLimits | None = None
    run_time: Annotated[tuple[RunTime, ...], Meta(max_length=MANY)] = ()
    service_life_months: Months | None = None

    @property
    def made_by(self) -> str:
        """Name the maker; without one the model stands for it (R13)."""
        return self.model if self.maker is None else self.maker

    @override
    def wrong(self) -> Iterator[FieldError]:
        """Refuse a range turned round, and anything named twice."""
        if self.plausible_flow_lpm is not None and self.plausible_flow_lpm[1] < self.plausible_flow_lpm[0]:
            yield FieldError("plausible_flow_lpm/1", "must not be below the low end")
        yield from each_once("settings", (setting.name for setting in self.settings), "name")
        yield from each_once("positions", (position.position for position in self.positions), "position")
        yield from each_once("assemblies", (assembly.name for assembly in self.assemblies), "name")
        yield from each_once("points", (point.point for point in self.points), "point")

    @override
    def subjects(self) -> tuple[str, ...]:
        """Name the model."""
        return (f"model:{self.model}",)
