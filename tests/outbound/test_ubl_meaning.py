"""What changes the goods, how many there are or whether any are meant is never passed over."""

import pytest

from service.domain.errors import BadDocument
from service.outbound.ubl.documents import DespatchAdvice, Document, Order, OrderResponse, ReceiptAdvice
from service.outbound.ubl.reading import read
from service.outbound.ubl.writing import written
from tests.outbound.ubl_documents import FULL

ORDER, RESPONSE, DESPATCH, RECEIPT = (written(document).decode() for document in FULL)
TAKEN_BACK = "takes it back: only NoStatus is read; send what holds, and no more"


def said(body: str, wanted: type[Document]) -> str:
    """Give what is said of a document that is not read."""
    with pytest.raises(BadDocument) as error:
        read(body.encode(), wanted)
    return str(error.value)


@pytest.mark.parametrize(
    ("body", "wanted", "before", "new", "place", "told"),
    [
        (
            *(DESPATCH, DespatchAdvice, "<cbc:DeliveredQuantity", "<cbc:LineStatusCode>Cancelled</cbc:LineStatusCode>"),
            *("/cac:DespatchLine/cbc:LineStatusCode", f"changes what the line says, or {TAKEN_BACK}"),
        ),
        (
            *(ORDER, Order, "<cbc:Quantity", "<cbc:LineStatusCode>Cancelled</cbc:LineStatusCode>"),
            *("/cac:OrderLine/cac:LineItem/cbc:LineStatusCode", f"changes what the line says, or {TAKEN_BACK}"),
        ),
        (
            *(DESPATCH, DespatchAdvice, "<cbc:LineID>", "<cbc:LineStatusCode>Revised</cbc:LineStatusCode>"),
            "/cac:DespatchLine/cac:OrderLineReference/cbc:LineStatusCode",
            f"changes what the line says, or {TAKEN_BACK}",
        ),
        (
            *(DESPATCH, DespatchAdvice, "<cbc:Note>two", "<cbc:DocumentStatusCode>Cancelled</cbc:DocumentStatusCode>"),
            *("/cbc:DocumentStatusCode", f"changes what the document says, or {TAKEN_BACK}"),
        ),
        (
            *(RECEIPT, ReceiptAdvice, "<cbc:Note>wet", "<cbc:DocumentStatusCode>7</cbc:DocumentStatusCode>"),
            *("/cbc:DocumentStatusCode", f"changes what the document says, or {TAKEN_BACK}"),
        ),
        (
            *(RECEIPT, ReceiptAdvice, "<cbc:ReceivedDate>"),
            '<cbc:OversupplyQuantity unitCode="C62">4</cbc:OversupplyQuantity>',
            "/cac:ReceiptLine/cbc:OversupplyQuantity",
            "is more than was ordered, and whether the line counts it is not said: count it there, and leave this out",
        ),
        (
            *(ORDER, Order, "<cbc:BaseQuantity", "<cbc:OrderableUnitFactorRate>12</cbc:OrderableUnitFactorRate>"),
            "/cac:OrderLine/cac:LineItem/cac:Price/cbc:OrderableUnitFactorRate",
            "has the price in another unit than is ordered: send it per unit of the line, and leave this out",
        ),
        (
            *(ORDER, Order, "<cac:LineItem>", "<cbc:SubstitutionStatusCode>x</cbc:SubstitutionStatusCode>"),
            "/cac:OrderLine/cbc:SubstitutionStatusCode",
            "speaks of other goods than were ordered: send one item a line",
        ),
        (
            *(ORDER, Order, "<cbc:Note>Ring", "<cbc:OrderTypeCode>221</cbc:OrderTypeCode>"),
            *("/cbc:OrderTypeCode", "is of a sort that may order nothing by itself: 105 and 220 are read"),
        ),
        (
            *(DESPATCH, DespatchAdvice, "<cbc:Note>two"),
            "<cbc:DespatchAdviceTypeCode>return</cbc:DespatchAdviceTypeCode>",
            *("/cbc:DespatchAdviceTypeCode", "is of a sort that may send nothing by itself: 351 is read"),
        ),
        (
            *(RECEIPT, ReceiptAdvice, "<cbc:Note>wet", "<cbc:ReceiptAdviceTypeCode>x</cbc:ReceiptAdviceTypeCode>"),
            *("/cbc:ReceiptAdviceTypeCode", "is of a sort that may report nothing by itself: 632 is read"),
        ),
        (
            *(RESPONSE, OrderResponse, "<cac:PromisedDeliveryPeriod>\n     <cbc:EndDate>2026-12-09</cbc:EndDate>\n"),
            '<cbc:Quantity unitCode="C62">20</cbc:Quantity>',
            "/cac:OrderLine/cac:LineItem/cac:Delivery/cbc:Quantity",
            "divides the line: send each delivery as a line of its own",
        ),
        (
            *(DESPATCH, DespatchAdvice, "<cbc:Note>two", '<DocumentStatusCode xmlns="">Cancelled</DocumentStatusCode>'),
            *("/DocumentStatusCode", "must be cbc:DocumentStatusCode, in its namespace of UBL"),
        ),
        (
            *(DESPATCH, DespatchAdvice, "<cbc:Note>two", "<cbc:DocumentStatusCode><x/></cbc:DocumentStatusCode>"),
            *("/cbc:DocumentStatusCode", f"changes what the document says, or {TAKEN_BACK}"),
        ),
    ],
)
def test_what_changes_the_goods_is_refused(
    body: str, wanted: type[Document], before: str, new: str, place: str, told: str
) -> None:
    """A status, a sort or a factor that takes back, divides or multiplies what the document says refuses it."""
    assert before in body
    assert said(body.replace(before, new + before, 1), wanted).startswith(f"/{wanted.__name__}{place}: {told}")


@pytest.mark.parametrize("text", ["TRUE", "true", "1", "False", "no", "", "<x/>false"])
def test_only_originals_are_read(text: str) -> None:
    """A copy indicator says false or 0; whatever else it says, the document is refused."""
    body = ORDER.replace("<cbc:IssueDate>", f"<cbc:CopyIndicator>{text}</cbc:CopyIndicator><cbc:IssueDate>")
    assert said(body, Order) == (
        "/Order/cbc:CopyIndicator: must be false or 0: a copy orders or reports nothing; send the original"
    )


def test_texts_that_change_nothing_are_read() -> None:
    """A neutral status, an excess of none and a factor of one are looked at, and so not told as passed over."""
    order = (
        ORDER.replace(
            "<cbc:Quantity",
            "<cbc:LineStatusCode>NoStatus</cbc:LineStatusCode><cbc:Quantity",
        )
        .replace(
            "<cbc:BaseQuantity",
            "<cbc:OrderableUnitFactorRate>1.00</cbc:OrderableUnitFactorRate><cbc:BaseQuantity",
        )
        .replace(
            "<cbc:Note>Ring",
            "<cbc:CopyIndicator> 0 </cbc:CopyIndicator><cbc:OrderTypeCode>220</cbc:OrderTypeCode><cbc:Note>Ring",
        )
    )
    reading = read(order.encode(), Order)
    assert (reading.document, reading.passed_over) == (FULL[0], ())
    receipt = RECEIPT.replace(
        "<cbc:ReceivedDate>",
        '<cbc:OversupplyQuantity unitCode="C62">0.0</cbc:OversupplyQuantity><cbc:ReceivedDate>',
    )
    assert read(receipt.encode(), ReceiptAdvice).passed_over == ()


def test_nothing_that_matters_hides_behind_much_that_does_not() -> None:
    """A hundred unknown elements hide no cancelled line, and how many more were passed over is told."""
    many = DESPATCH.replace("<cbc:Note>two", "<cbc:Zork/>" * 130 + "<cbc:Note>two")
    reading = read(many.encode(), DespatchAdvice)
    assert (len(reading.passed_over), reading.more) == (100, 30)
    status = "<cbc:LineStatusCode>Cancelled</cbc:LineStatusCode><cbc:DeliveredQuantity"
    assert "takes it back" in said(many.replace("<cbc:DeliveredQuantity", status), DespatchAdvice)
