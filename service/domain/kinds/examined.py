"""A thorough examination was done."""

from typing import Annotated, Any, ClassVar, Literal

from msgspec import Meta
from typing_extensions import override

from service.domain.event import AssetEvent
from service.domain.sample import sample
from service.domain.value import Value
from service.domain.words import MANY, Bar, FilterLoading, Flow, Label, Percent, Points, Reason, Ref, Sha256, Text


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
