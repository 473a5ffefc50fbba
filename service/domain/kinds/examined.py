"""A thorough examination was done."""

from typing import TYPE_CHECKING, Annotated, Any, ClassVar, Literal

from msgspec import Meta
from msgspec.structs import replace
from typing_extensions import override

from service.domain.conflict import Conflict
from service.domain.event import AssetEvent
from service.domain.fitting import read_battery, read_loading
from service.domain.sample import sample
from service.domain.unit import Cause, Dated, Evidence
from service.domain.value import Value
from service.domain.verdict import Outcome, Readings, Verdict, calibrated, judge
from service.domain.withdrawal import fail, hold
from service.domain.words import MANY, Bar, FilterLoading, Flow, Label, Percent, Points, Reason, Ref, Sha256, Text

if TYPE_CHECKING:
    from service.domain.facts import Fact
    from service.domain.kinds.model_defined import ModelDefined
    from service.domain.unit import Unit
    from service.domain.world import World


class Defect(Value, frozen=True, kw_only=True):
    """What was found at a point, and what was done about it."""

    point: Ref
    found: Reason
    remedy: Text | None = None


class Examined(AssetEvent, frozen=True, kw_only=True):
    """The particulars the law asks of the record (L5 6th ed 2013 para 184; 29 CFR 1910.134(h)(3)(iv)(A)).

    `by` is the examiner; whether the examiner is competent and the result valid is judged, not believed.
    """

    kept_out: ClassVar[tuple[str, ...]] = ("remark", "defects[].found", "defects[].remedy")
    example: ClassVar[dict[str, Any]] = sample(
        "examined",
        {
            "asset": "FX-0142",
            "points": {"airflow": "pass", "straps": "pass", "valves": "not-applicable"},
            "airflow_lpm": 182.5,
            "cylinder_bar": 291.0,
            "capacity_percent": 88.0,
            "filter_loading": 2,
            "instrument": "flow-meter-2",
            "result": "pass-after-repair",
            "defects": [{"point": "straps", "found": "buckle cracked", "remedy": "buckle replaced"}],
            "examiner_employer": "Harrow Fabrication",
            "certificate": "EX/2026/0311",
            "report_sha256": "9f86d081884c7d659a2feaa0c55ad015a3bf4f1b2b0b822cd15d6c15b0f00a08",
        },
    )

    points: Points
    airflow_lpm: Flow | None = None
    cylinder_bar: Bar | None = None
    capacity_percent: Percent | None = None
    filter_loading: FilterLoading | None = None
    instrument: Ref | None = None
    result: Literal["pass", "pass-after-repair", "fail"]
    defects: Annotated[tuple[Defect, ...], Meta(max_length=MANY)] = ()
    examiner_employer: Label | None = None
    certificate: Label | None = None
    report_sha256: Sha256 | None = None

    @override
    def adverse(self) -> bool:
        """Say yes to a failing point or result (R1)."""
        return self.result == "fail" or "fail" in self.points.values()

    @override
    def claims_to_pass(self) -> bool:
        """Say yes if neither the result nor a point failed."""
        return not self.adverse()

    @override
    def happened(self, unit: "Unit", fact: "Fact", world: "World") -> "Unit":
        """Withdraw the unit on failure; a valid pass is ground for release and sets the next due date."""
        outcome, evidence = self.outcome(unit, fact, world), Evidence(fact.at, self.id)
        if not fact.echo:
            unit = read_loading(unit, self.filter_loading, fact, world)
            unit = read_battery(unit, None, self.capacity_percent, evidence)
        if outcome == "failing":
            return hold(fail(unit, evidence), Cause("failed", fact.at, self.id))
        if outcome != "passing":
            return unit
        return replace(unit, breaches=(), examined=Dated(fact.at, world.day_of(fact, unit), self.id))

    @override
    def contradicts(self, unit: "Unit", fact: "Fact", world: "World") -> "tuple[Conflict, ...]":
        """Say when the examiner had no competence on record."""
        return () if world.may("examine", fact, unit) else (Conflict("unknown-competence", ("examine",)),)

    @override
    def fails(self, model: "ModelDefined | None") -> bool:
        """Say whether it fails by what its examiner says, or by its readings."""
        readings = Readings(airflow_lpm=self.airflow_lpm)
        return self.adverse() or judge(self.points, readings, model).outcome == "failing"

    def outcome(self, unit: "Unit", fact: "Fact", world: "World") -> Outcome:
        """Say what it proves: it passes complete, by a competent person, with a measured flow if powered."""
        verdict = self._verdict(unit, fact, world)
        if verdict.outcome == "failing" or self.result == "fail":
            return "failing"
        return "passing" if self._valid(verdict, unit, fact, world) else "incomplete"

    def _verdict(self, unit: "Unit", fact: "Fact", world: "World") -> Verdict:
        instrument = None if self.instrument is None else world.instrument(self.instrument, fact.as_of)
        known = self.instrument is None or calibrated(instrument, world.day_of(fact, unit))
        readings = Readings(airflow_lpm=self.airflow_lpm, calibrated=known)
        return judge(self.points, readings, world.model(unit.model, fact.as_of))

    def _valid(self, verdict: Verdict, unit: "Unit", fact: "Fact", world: "World") -> bool:
        model = world.model(unit.model, fact.as_of)
        measured = verdict.measured or model is None or model.device != "powered"
        return verdict.outcome == "passing" and measured and world.may("examine", fact, unit)
