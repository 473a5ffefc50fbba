"""What a pre-use check says, whoever calls it passed or failed."""

from typing import TYPE_CHECKING, Any, ClassVar, Final, Literal

from msgspec.structs import replace
from typing_extensions import override

from service.domain.conflict import Conflict
from service.domain.event import AssetEvent
from service.domain.fitting import points_of, read_battery, read_loading
from service.domain.kinds.model_defined import ModelDefined
from service.domain.unit import Cover, Evidence, Unit, Wearing
from service.domain.verdict import Readings, Verdict, calibrated, judge
from service.domain.wearing import close_function_check, close_uses, longer, put_on
from service.domain.withdrawal import WITHDRAW, fail_check
from service.domain.words import FilterLoading, Flow, Percent, Points, Ref, Text

if TYPE_CHECKING:
    from service.domain.facts import Fact
    from service.domain.world import World

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
    after_retirement: ClassVar[str] = "checked-while-retired"

    points: Points
    airflow_lpm: Flow | None = None
    airflow_indicator: Literal["above", "below"] | None = None
    battery_percent: Percent | None = None
    capacity_percent: Percent | None = None
    filter_loading: FilterLoading | None = None
    wearer: Ref | None = None
    instrument: Ref | None = None
    action: Text | None = None

    @override
    def happened(self, unit: Unit, fact: "Fact", world: "World") -> Unit:
        """Withdraw or recheck on failure; cover the wearer on a complete pass; anything else proves nothing."""
        verdict = self.verdict(unit, fact, world)
        evidence = Evidence(fact.at, self.id)
        if not fact.echo:
            unit = self._read(unit, fact, world)
        if verdict.outcome == "failing" or self.adverse():
            return fail_check(unit, evidence, verdict.asks or WITHDRAW)
        if verdict.outcome == "passing":
            return self._passed(unit, fact, world, restored=verdict.after_swap)
        return self._restored(unit, fact) if verdict.after_swap else unit

    @override
    def contradicts(self, unit: Unit, fact: "Fact", world: "World") -> tuple[Conflict, ...]:
        """Say nothing: a check is a fact wherever it was done."""
        return ()

    @override
    def fails(self, model: ModelDefined | None) -> bool:
        """Say whether it fails by what its sender says, or by its readings."""
        return self.adverse() or judge(self.points, self._readings(calibrated=True), model).outcome == "failing"

    def verdict(self, unit: Unit, fact: "Fact", world: "World") -> Verdict:
        """Judge the check by the model and the instrument in force when it was done."""
        instrument = None if self.instrument is None else world.instrument(self.instrument, fact.as_of)
        known = self.instrument is None or calibrated(instrument, world.day_of(fact, unit))
        return judge(self.points, self._readings(calibrated=known), world.model(unit.model, fact.as_of))

    def _readings(self, *, calibrated: bool) -> Readings:
        return Readings(
            airflow_lpm=self.airflow_lpm,
            airflow_indicator=self.airflow_indicator,
            battery_percent=self.battery_percent,
            calibrated=calibrated,
        )

    def _read(self, unit: Unit, fact: "Fact", world: "World") -> Unit:
        unit = read_loading(unit, self.filter_loading, fact, world)
        points = (self.points.get(point) for point in points_of(unit, "battery", fact.as_of, world))
        told = any(result in {"pass", "fail"} for result in points)
        unit = read_battery(unit, self.battery_percent, self.capacity_percent, Evidence(fact.at, self.id), told=told)
        if self.wearer is None:
            return unit
        between = world.terms(unit, fact.as_of).cleaning.between_wearers
        return put_on(unit, Wearing(self.wearer, fact.at, self.id), between_wearers=between)

    def _passed(self, unit: Unit, fact: "Fact", world: "World", *, restored: bool) -> Unit:
        mended = [repair for repair in unit.repaired if repair < fact.at]
        bound = bool(unit.held) or bool(world.openings_on(unit, fact.at))
        passed = replace(
            close_function_check(close_uses(unit, self.wearer)),
            recheck=None,
            failing=(),
            repaired_and_checked=max(mended, default=unit.repaired_and_checked),
            passings={**unit.passings, self.by: fact.at} if bound else unit.passings,
        )
        if self.wearer is None:
            return passed
        until = fact.at + world.terms(unit, fact.as_of).pre_use.cover.elapsed()
        return replace(passed, cover=longer(unit.cover, Cover(self.id, self.wearer, fact.at, until), restored=restored))

    def _restored(self, unit: Unit, fact: "Fact") -> Unit:
        """Restore the rest of a cover that a battery swap paused, to its old end."""
        cover = unit.cover
        if cover is None or self.wearer != cover.wearer or fact.at >= cover.until:
            return unit
        return replace(close_uses(unit, self.wearer), cover=replace(cover, paused=False))
