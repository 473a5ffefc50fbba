"""Which item goods are, and in what they are counted."""

import pytest

from service.domain.stock.lines import is_alike
from service.domain.value import FieldError
from service.outbound.ubl.events.goods import code_of, counted_in, goods_of, match
from service.outbound.ubl.parts import Item, Measure
from tests.outbound.ubl_documents import many
from tests.outbound.ubl_trade import GOODS, item

NONE = "no item that is defined here has it: send our reference"
OTHER = "these are other goods, or another package of them"


@pytest.mark.parametrize(
    ("told", "ref"),
    [
        (Item(item="pf-170"), "pf-170"),
        (Item(item="pf-170", part_number="of theirs", gtin="9521101530018"), "pf-170"),
        (Item(gtin="9521101530018"), "pf-170"),
        (Item(gtin="09521101530018"), "pf-170"),
        (Item(gtin="00000096385074", part_number="of theirs"), "pf-171"),
        (Item(part_number="T-1"), "tube"),
        (Item(gtin="036000291452", part_number="T-1"), "tube"),
        (Item(item="seal-a", part_number="S-9"), "seal-a"),
    ],
)
def test_our_reference_goes_before_gtin_and_that_before_part_number(told: Item, ref: str) -> None:
    """Goods are the item of our reference, else of their GTIN, however many digits it has, else of their number."""
    assert match(told, GOODS).item == ref


@pytest.mark.parametrize(
    ("told", "field", "said"),
    [
        (Item(item="pf-999"), "item", "pf-999 is no item that is defined here"),
        (Item(item="pf-999", gtin="9521101530018"), "item", "pf-999 is no item that is defined here"),
        (Item(gtin="036000291452"), "gtin", NONE),
        (Item(part_number="T-2"), "part_number", NONE),
        (Item(name="Filter pf-170"), "item", NONE),
        (Item(part_number="S-9"), "part_number", "is that of several items (seal-a, seal-b): send our reference"),
        (Item(item="pf-170", gtin="96385074"), "gtin", f"is not that of pf-170: {OTHER}"),
        (Item(item="pf-170", gtin="036000291452"), "gtin", f"is not that of pf-170: {OTHER}"),
        (Item(item="tube", gtin="96385074"), "gtin", "is that of pf-171, and not of tube"),
        (Item(part_number="170-220", gtin="036000291452"), "gtin", f"is not that of pf-170: {OTHER}"),
        (Item(gtin="96385074", part_number="170-220"), "part_number", "is that of pf-170, and not of pf-171"),
        (Item(item="seal-a", part_number="T-1"), "part_number", "is that of tube, and not of seal-a"),
    ],
)
def test_goods_that_are_no_item_or_of_two_are_refused(told: Item, field: str, said: str) -> None:
    """What nobody defined, what several are, and numbers that speak of different items are faults at their field."""
    with pytest.raises(FieldError) as error:
        match(told, GOODS)
    assert (error.value.field, error.value.detail) == (field, said)


def test_an_item_defined_anew_is_known_by_its_newest_numbers() -> None:
    """A GTIN that an item no longer has finds nothing."""
    goods = goods_of([item("pf-170", gtin="9521101530018"), item("pf-170", gtin="96385074")])
    assert match(Item(gtin="96385074"), goods).item == "pf-170"
    with pytest.raises(FieldError):
        match(Item(gtin="9521101530018"), goods)


def test_goods_are_counted_as_their_item_or_their_order_is() -> None:
    """One piece is C62 and EA; a box is no piece, unless boxes were ordered."""
    assert counted_in(Measure(value=many("1").value, unit="EA"), GOODS.items["pf-170"]) == "C62"
    box = Measure(value=many("1").value, unit="XBX")
    assert counted_in(box, GOODS.items["pf-170"], "XBX") == "XBX"
    with pytest.raises(FieldError) as error:
        counted_in(box, GOODS.items["pf-170"])
    assert (error.value.field, error.value.detail) == ("unit", "XBX is not the C62 that pf-170 is counted in")
    assert [is_alike("C62", "EA"), is_alike("MTR", "MTR"), is_alike("MTR", "EA")] == [True, True, False]


@pytest.mark.parametrize(
    ("unit", "code"), [("each", "C62"), ("Each", "C62"), ("EA", "EA"), ("PR", "PR"), ("box", "box")]
)
def test_a_word_for_a_single_piece_is_written_as_its_code(unit: str, code: str) -> None:
    """What is a code stays, and so does any other word, which no document can say."""
    assert code_of(unit) == code
