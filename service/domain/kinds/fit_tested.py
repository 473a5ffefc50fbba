"""A person's facepiece was fit tested."""

from collections.abc import Iterator
from datetime import date
from typing import Annotated, Any, ClassVar, Literal

from msgspec import Meta
from typing_extensions import override

from service.domain.event import PersonEvent
from service.domain.sample import sample
from service.domain.value import FieldError, Value
from service.domain.words import MANY, Factor, Label, Ref


class Exercise(Value, frozen=True, kw_only=True):
    """One exercise of a test and the fit factor reached."""

    name: Label
    factor: Factor


class FitTested(PersonEvent, frozen=True, kw_only=True):
    """The test of one model and size. With `exercises` the verdict is computed; `passed` serves without them (R30)."""

    example: ClassVar[dict[str, Any]] = sample(
        "fit-tested",
        {
            "person": "p-3071",
            "model": "northwind-2",
            "size": "M",
            "method": "quantitative",
            "passed": True,
            "exercises": [
                {"name": "normal breathing", "factor": 2840.0},
                {"name": "head side to side", "factor": 2310.0},
            ],
            "valid_until": "2027-03-01",
        },
    )

    model: Ref
    size: Label
    method: Literal["qualitative", "quantitative"]
    passed: bool | None = None
    exercises: Annotated[tuple[Exercise, ...], Meta(max_length=MANY)] = ()
    valid_until: date | None = None

    @override
    def wrong(self) -> Iterator[FieldError]:
        """Refuse an end before the test."""
        yield from self.lasts_to("valid_until")
