"""A task and what is in its air."""

from typing import Annotated, Any, ClassVar, Literal

from msgspec import Meta
from typing_extensions import override

from service.domain.event import ReferenceEvent
from service.domain.sample import sample
from service.domain.value import Value
from service.domain.words import MANY, Concentration, Factor, Fraction, Label, Labels, Ref


class Substance(Value, frozen=True, kw_only=True):
    """A substance in the air: how much of which fraction, against which limit, and where the limit is written."""

    name: Label
    fraction: Label
    concentration: Concentration
    unit: Label
    limit: Concentration
    limit_basis: Label
    limit_source: Label
    filter_types: Labels = ()


class TaskDefined(ReferenceEvent, frozen=True, kw_only=True):
    """What a wearer must be protected from."""

    example: ClassVar[dict[str, Any]] = sample(
        "task-defined",
        {
            "effective_from": "2026-03-02T00:00:00+00:00",
            "correction": True,
            "reason": "measured before the records began",
            "task": "hull-welding",
            "name": "Welding inside hull sections",
            "substances": [
                {
                    "name": "manganese",
                    "fraction": "respirable",
                    "concentration": 0.6,
                    "unit": "mg/m3",
                    "limit": 0.05,
                    "limit_basis": "8 h TWA",
                    "limit_source": "EH40",
                    "filter_types": ["P3"],
                }
            ],
            "oxygen": "proven",
            "space": "open",
            "floor_factor": 20.0,
            "worn_fraction": 0.95,
            "hours": 8.0,
        },
    )

    task: Ref
    name: Label
    substances: Annotated[tuple[Substance, ...], Meta(max_length=MANY)]
    oxygen: Literal["proven", "not-proven", "deficient"]
    space: Literal["open", "confined"]
    floor_factor: Factor | None = None
    worn_fraction: Fraction | None = None
    hours: Annotated[float, Meta(ge=0, le=24)] | None = None

    @override
    def subjects(self) -> tuple[str, ...]:
        """Name the task."""
        return (f"task:{self.task}",)
