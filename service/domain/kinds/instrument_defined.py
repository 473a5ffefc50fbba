"""A flow meter or other test gear and its calibration."""

from collections.abc import Iterator
from datetime import date
from typing import Annotated, Any, ClassVar, Literal

from msgspec import Meta
from typing_extensions import override

from service.domain.event import ReferenceEvent
from service.domain.sample import sample
from service.domain.value import FieldError, in_order
from service.domain.words import MANY, Label, Ref

Measure = Literal["airflow", "pressure", "battery-capacity", "fit-factor", "other"]


class InstrumentDefined(ReferenceEvent, frozen=True, kw_only=True):
    """What an instrument measures, and to which day its calibration holds."""

    example: ClassVar[dict[str, Any]] = sample(
        "instrument-defined",
        {
            "effective_from": "2026-03-02T00:00:00+00:00",
            "correction": True,
            "reason": "calibrated before the records began",
            "instrument": "flow-meter-2",
            "name": "Flow meter 2",
            "measures": ["airflow"],
            "calibrated_on": "2025-10-01",
            "calibration_due": "2026-10-01",
        },
    )

    instrument: Ref
    name: Label
    measures: Annotated[tuple[Measure, ...], Meta(min_length=1, max_length=MANY)]
    calibrated_on: date
    calibration_due: date

    @override
    def wrong(self) -> Iterator[FieldError]:
        """Refuse a calibration that ends before it was made."""
        yield from in_order(self, "calibrated_on", "calibration_due")

    @override
    def subjects(self) -> tuple[str, ...]:
        """Name the instrument."""
        return (f"instrument:{self.instrument}",)
