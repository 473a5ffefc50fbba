"""Someone has looked at an exception."""

from collections.abc import Iterator
from typing import Any, ClassVar

from typing_extensions import override

from service.domain.event import Event
from service.domain.finding import REPORTS
from service.domain.sample import sample
from service.domain.value import FieldError
from service.domain.words import Label, Reason, Ref


class ExceptionAcknowledged(Event, frozen=True, kw_only=True):
    """A row of a report, named as the report names it, is known, and why it may stand."""

    kept_out: ClassVar[tuple[str, ...]] = ("remark", "reason")
    example: ClassVar[dict[str, Any]] = sample(
        "exception-acknowledged",
        {
            "report": "used-without-check",
            "row": "0198c1f2-7a10-7c3e-9b55-3f1d2ab40c01",
            "reason": "trainee, shown again",
        },
    )

    report: Ref
    row: Label
    reason: Reason

    @override
    def wrong(self) -> Iterator[FieldError]:
        """Refuse a report that there is not."""
        if self.report not in REPORTS:
            yield FieldError("report", f"must be one of {', '.join(REPORTS)}")

    @override
    def subjects(self) -> tuple[str, ...]:
        """Name the row of the report."""
        return (f"exception:{self.report}/{self.row}",)
