"""What is asked of a proposal at its doors: that it is approved, that it was ordered, that it is called off."""

from collections.abc import Iterator
from datetime import date
from typing import Annotated

from msgspec import Meta
from typing_extensions import override

from service.domain.kinds.order_placed import OrderLine
from service.domain.value import FieldError, Value, each_once
from service.domain.words import MANY, Label, Quantity, Reason, Ref


class Approving(Value, frozen=True, kw_only=True):
    """Who approves, and how much if it is another quantity than is proposed."""

    by: Ref
    quantity: Quantity | None = None


class Placing(Value, frozen=True, kw_only=True):
    """Who ordered, under which number, and what; without lines as much as was approved, else as is proposed."""

    by: Ref
    order: Label
    lines: Annotated[tuple[OrderLine, ...], Meta(max_length=MANY)] = ()
    supplier: Ref | None = None
    expected_on: date | None = None

    @override
    def wrong(self) -> Iterator[FieldError]:
        """Refuse a line that stands twice."""
        yield from each_once("lines", (line.line for line in self.lines), "line")


class Cancelling(Value, frozen=True, kw_only=True):
    """Who calls the order off, and why; which, where the proposal was ordered twice."""

    by: Ref
    reason: Reason
    order: Label | None = None
