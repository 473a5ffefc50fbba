"""What is asked of a proposal at its doors: that it is approved, that it was ordered, that it is called off."""

from collections.abc import Iterator, Sequence
from datetime import date
from typing import Annotated, Final

from msgspec import Meta
from typing_extensions import override

from service.domain.errors import Malformed
from service.domain.kinds.item_defined import ItemDefined
from service.domain.kinds.order_placed import OrderLine
from service.domain.money import spelled
from service.domain.ordering.lines import summed
from service.domain.stock.lines import is_alike
from service.domain.value import FieldError, Value, each_once
from service.domain.words import MANY, MOST_QUANTITY, Label, Quantity, Reason, Ref
from service.reference.currencies import is_currency

TOO_MANY: Final = f"an order is of at most {MOST_QUANTITY}. Say in lines what was ordered."


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


def demand_of(item: ItemDefined, lines: Sequence[OrderLine]) -> None:
    """Raise Malformed for lines of another item, in another unit or no money, and for an order of nothing."""
    wrong = [fault for nth, line in enumerate(lines) for fault in _wrong(item, line, f"/lines/{nth}")]
    quantity = summed(line.quantity for line in lines)
    if not wrong and not quantity:
        wrong = [("/lines", "An order of nothing: say in lines what was ordered.")]
    if not wrong and quantity > MOST_QUANTITY:
        wrong = [("/lines", f"They come to {spelled(quantity)}: {TOO_MANY}")]
    if wrong:
        raise Malformed.of(wrong)


def _wrong(item: ItemDefined, line: OrderLine, at: str) -> Iterator[tuple[str, str]]:
    """Give what is wrong with a line of an order of an item, each with its place."""
    if line.item != item.item:
        yield f"{at}/item", f"The proposal is for {item.item!r}: order other items by their own proposals."
    if not is_alike(line.unit, item.unit):
        yield f"{at}/unit", f"The item is counted in {item.unit!r}: say the quantity in that unit."
    if line.currency is not None and not is_currency(line.currency):
        yield f"{at}/currency", f"{line.currency!r} is no code of ISO 4217."
