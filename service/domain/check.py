"""What a pre-use check says, whoever calls it passed or failed."""

from typing import TYPE_CHECKING, Any, ClassVar, Final, Literal

from msgspec.structs import replace
from typing_extensions import override

from service.domain.conflict import Conflict
from service.domain.event import AssetEvent
from service.domain.fitting import points_of, read_battery, read_loading
from service.domain.unit import Cover, Evidence, Passing, Unit, Wearing
from service.domain.verdict import Readings, Verdict, calibrated, judge
from service.domain.wearing import clear_breaches, put_on
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
        failing = verdict.outcome == "failing" or self.adverse()
        if fact.struck and not failing:
            return unit
        evidence = Evidence(fact.at, self.id)
        if not fact.echo:
            unit = self._read(unit, evidence, world)
        if failing:
            return fail_check(unit, evidence, verdict.asks or WITHDRAW, voided=fact.voided)
        return self._passed(unit, fact, world) if verdict.outcome == "passing" else self._restored(unit, fact, verdict)

    @override
    def contradicts(self, unit: Unit, fact: "Fact", world: "World") -> tuple[Conflict, ...]:
        """Say nothing: a check is a fact wherever it was done."""
        return ()

    def verdict(self, unit: Unit, fact: "Fact", world: "World") -> Verdict:
        """Judge the check by the model and the instrument in force when it was done."""
        day = self.occurred_on or world.day(fact.at, self.site or unit.site)
        known = self.instrument is None or calibrated(world.instrument(self.instrument, fact.at), day)
        readings = Readings(
            airflow_lpm=self.airflow_lpm,
            airflow_indicator=self.airflow_indicator,
            battery_percent=self.battery_percent,
            calibrated=known,
        )
        return judge(self.points, readings, world.model(unit.model, fact.at))

    def _read(self, unit: Unit, evidence: Evidence, world: "World") -> Unit:
        unit = read_loading(unit, self.filter_loading, evidence, world)
        told = any(point in self.points for point in points_of(unit, "battery", evidence.at, world))
        unit = read_battery(unit, self.battery_percent, self.capacity_percent, evidence, told=told)
        if self.wearer is None:
            return unit
        between = world.cleaning(unit, evidence.at).between_wearers
        return put_on(unit, Wearing(self.wearer, evidence.at, self.id), between_wearers=between)

    def _passed(self, unit: Unit, fact: "Fact", world: "World") -> Unit:
        mended = unit.repaired is not None and unit.repaired < fact.at
        passed = replace(
            clear_breaches(unit, fact.at, self.wearer),
            recheck=None,
            failing=None,
            repaired_and_checked=unit.repaired if mended else unit.repaired_and_checked,
            passings=(*unit.passings, Passing(fact.at, self.by)) if unit.held else (),
        )
        if self.wearer is None:
            return passed
        until = fact.at + world.pre_use(unit, fact.at).cover.elapsed()
        return replace(passed, cover=Cover(self.id, self.wearer, fact.at, until))

    def _restored(self, unit: Unit, fact: "Fact", verdict: Verdict) -> Unit:
        """Restore the rest of a cover that a battery swap paused, to its old end."""
        cover = unit.cover
        if cover is None or not verdict.after_swap or self.wearer != cover.wearer or fact.at >= cover.until:
            return unit
        return replace(clear_breaches(unit, fact.at, self.wearer), cover=replace(cover, paused=False))
