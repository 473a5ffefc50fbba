"""Which answer to an order a text is."""

import pytest

from service.domain.errors import BadDocument
from service.outbound.ubl.documents import Document
from service.outbound.ubl.sheet import sheet
from service.outbound.ubl.which import TELLING, own, read_answer, read_answer_sheet
from service.outbound.ubl.writing import written
from tests.outbound.ubl_documents import FULL, LEAST

ORDERS = [FULL[0], LEAST[0]]
ANSWERS = [one for one in (*FULL, *LEAST) if one not in ORDERS]
NO_SORT = (
    "The document does not say by its columns what it is: 'order' is of OrderResponse, 'line.despatched.value' is of "
    "DespatchAdvice, 'line.received.value' is of ReceiptAdvice."
)


@pytest.mark.parametrize("document", ANSWERS, ids=lambda one: type(one).__name__)
def test_an_answer_says_itself_what_it_is(document: Document) -> None:
    """As UBL and as a table each is read as what it was."""
    assert read_answer(written(document)).document == document
    assert read_answer_sheet(sheet(document)).document == document


@pytest.mark.parametrize("order", ORDERS)
def test_an_order_is_no_answer(order: Document) -> None:
    """What the service itself sends is refused with the roots that are read."""
    with pytest.raises(BadDocument) as error:
        read_answer(written(order))
    assert "its root must be one of UBL 2.1, OrderResponse in urn:oasis" in error.value.detail


def test_every_telling_column_is_of_one_answer_alone() -> None:
    """The column that a refusal names for an answer is one that no other has."""
    assert [sort for sort, column in TELLING.items() if column not in own(sort)] == []


@pytest.mark.parametrize(
    ("head", "cells"),
    [
        ("id,issued_on", "RA-1,2026-11-25"),
        ("id,order,line.received.value", "RA-1,PO-1,4"),
        ("line.recieved.value", "4"),
    ],
)
def test_a_table_that_is_of_no_answer_or_of_two_is_refused(head: str, cells: str) -> None:
    """Without a column of its own, or with as many of two, nobody can tell what it is."""
    with pytest.raises(BadDocument) as error:
        read_answer_sheet(f"{head}\n{cells}\n".encode())
    assert error.value.detail == NO_SORT


def test_a_column_of_another_answer_is_refused_in_its_place() -> None:
    """Of whose columns there are most it is; a stray one is told like any that is not known."""
    head = "id,issued_on,orders,line.id,line.received.value,line.received.unit,line.rejected.value,order"
    with pytest.raises(BadDocument) as error:
        read_answer_sheet(f"{head}\nRA-1,2026-11-25,PO-1,1,4,C62,0,PO-1\n".encode())
    (fault,) = error.value.faults
    assert (fault.at, fault.detail) == ("row 1, column 'order'", "no such column here; is 'orders' meant?")


def test_a_fault_found_later_has_its_place_in_what_was_read() -> None:
    """A field of the document is an XPath in UBL, and a row and a column in a table."""
    receipt = FULL[3]
    for reading, place in (
        (read_answer(written(receipt)), "/ReceiptAdvice/cac:ReceiptLine/cac:Item/cac:BuyersItemIdentification/cbc:ID"),
        (read_answer_sheet(sheet(receipt)), "row 2, column line.item.item"),
    ):
        assert reading.place("/lines/0/item/item") == place
    assert read_answer(written(receipt)).place("/lines/0/short/unit").endswith("cbc:ShortQuantity/@unitCode")
