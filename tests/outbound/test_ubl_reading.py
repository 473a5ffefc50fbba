"""Documents as other systems write them, and what is said of those that cannot be read."""

import re
from datetime import date
from decimal import Decimal

import pytest

from service.domain.errors import BadDocument
from service.outbound.ubl.documents import DespatchAdvice, Order, OrderResponse, ReceiptAdvice
from service.outbound.ubl.reading import read
from service.outbound.ubl.writing import written
from service.problems import described
from tests.outbound.ubl_documents import FULL

ORDER = written(FULL[0]).decode()
BESIDE = "has text beside its elements: send the one or the other"
OTHER_NUMBER = "<cac:SellersItemIdentification><cbc:ID>170-221</cbc:ID></cac:SellersItemIdentification>"
LINE = "/Order/cac:OrderLine/cac:LineItem"

#: As another system writes it: prefixes and order of its own, elements of ours in other places, others besides.
OTHER = """<?xml version='1.0'?>
<!-- made elsewhere --><d:DespatchAdvice xmlns:d="urn:oasis:names:specification:ubl:schema:xsd:DespatchAdvice-2"
 xmlns="urn:oasis:names:specification:ubl:schema:xsd:CommonBasicComponents-2"
 xmlns:a="urn:oasis:names:specification:ubl:schema:xsd:CommonAggregateComponents-2">
 <UBLVersionID>2.3</UBLVersionID><CustomizationID>urn:of:theirs</CustomizationID><CopyIndicator>false</CopyIndicator>
 <ID schemeID="x"> DA-3 </ID><IssueDate>2026-11-25+01:00</IssueDate><Note>one</Note><Note>two</Note><Note/>
 <a:DespatchSupplierParty><a:Party><EndpointID schemeID="0088">7300010000001</EndpointID>
  <a:PartyLegalEntity><RegistrationName>Nord Filter</RegistrationName></a:PartyLegalEntity></a:Party>
 </a:DespatchSupplierParty>
 <a:DeliveryCustomerParty><a:Party><a:PartyIdentification><ID>A</ID></a:PartyIdentification>
  <a:PartyIdentification><ID>B</ID></a:PartyIdentification></a:Party></a:DeliveryCustomerParty>
 <a:DespatchLine><ID>1</ID><DeliveredQuantity unitCode="XBX" unitCodeListID="UNECERec20">+060.50</DeliveredQuantity>
  <a:OrderLineReference><LineID>10</LineID></a:OrderLineReference>
  <a:Item><Name><![CDATA[Filter <170>]]></Name>
   <a:StandardItemIdentification><ID schemeID="SRV">no gtin</ID></a:StandardItemIdentification>
   <a:ManufacturersItemIdentification><ID>170-220</ID></a:ManufacturersItemIdentification>
   <a:ItemInstance><BestBeforeDate>2029-05-31</BestBeforeDate></a:ItemInstance></a:Item>
 </a:DespatchLine>
</d:DespatchAdvice>"""


def test_what_other_systems_write_is_read_and_the_rest_is_told() -> None:
    """Prefixes, order, versions, offsets and optional elements are their own; what was not looked at is listed."""
    reading = read(OTHER.encode(), DespatchAdvice)
    told = reading.document
    assert (told.id, told.issued_on, told.note) == ("DA-3", date(2026, 11, 25), "one\ntwo")
    assert (told.supplier.id, told.supplier.name, told.buyer.id) == ("7300010000001", "Nord Filter", "A")
    (line,) = told.lines
    assert line.despatched is not None
    assert (line.despatched.value, line.despatched.unit) == (Decimal("60.5"), "XBX")
    assert (line.item.name, line.item.part_number, line.item.gtin) == ("Filter <170>", "170-220", None)
    assert line.item.instances[0].expires == date(2029, 5, 31)
    assert reading.passed_over == (
        "/DespatchAdvice/cbc:CustomizationID",
        "/DespatchAdvice/cbc:Note[3]",
        "/DespatchAdvice/cac:DeliveryCustomerParty/cac:Party/cac:PartyIdentification[2]",
        "/DespatchAdvice/cac:DespatchLine/cac:Item/cac:StandardItemIdentification",
    )


def party(name: str, ident: str) -> str:
    """Write a party of a name."""
    told = f"<cac:PartyIdentification><cbc:ID>{ident}</cbc:ID></cac:PartyIdentification>"
    return f"<cac:{name}><cac:Party>{told}</cac:Party></cac:{name}>"


@pytest.mark.parametrize("document", FULL[2:], ids=lambda one: type(one).__name__)
def test_who_buys_and_sells_goes_before_who_takes_and_sends(document: DespatchAdvice | ReceiptAdvice) -> None:
    """A despatch and a receipt that name buyer and seller are of those; where they say nothing, of the other two."""
    body = written(document).decode()
    named = party("BuyerCustomerParty", "head-office") + party("SellerSupplierParty", "seller-9")
    reading = read(body.replace("<cac:Shipment>", f"{named}<cac:Shipment>").encode(), type(document))
    assert (reading.document.buyer.id, reading.document.supplier.id) == ("head-office", "seller-9")
    root = f"/{type(document).__name__}"
    assert sorted(reading.passed_over) == [f"{root}/cac:DeliveryCustomerParty", f"{root}/cac:DespatchSupplierParty"]
    empty = "<cac:BuyerCustomerParty><cac:Party/></cac:BuyerCustomerParty>"
    told = read(body.replace("<cac:Shipment>", f"{empty}<cac:Shipment>").encode(), type(document)).document
    assert (told.buyer.id, told.supplier.id) == ("harrow", "sup-4")


def wrong(body: str) -> list[tuple[str, str]]:
    """List what is said of an order: place and sentence."""
    with pytest.raises(BadDocument) as error:
        read(body.encode(), Order)
    return [(fault.at or "", fault.detail) for fault in error.value.faults]


def swapped(pattern: str, new: str) -> str:
    """Give the order with something else in it."""
    assert re.search(pattern, ORDER)
    return re.sub(pattern, new, ORDER, count=1)


@pytest.mark.parametrize(
    ("pattern", "new", "place", "said"),
    [
        (" <cbc:ID>PO.*</cbc:ID>\n", "", "/Order/cbc:ID", "is needed"),
        ("<cac:SellerSupplierParty>[^?]*</cac:SellerSupplierParty>", "", "/Order/cac:SellerSupplierParty", "is needed"),
        ("<cac:OrderLine>[^?]*</cac:OrderLine>", "", "/Order/cac:OrderLine", "is needed"),
        ("<cbc:Quantity.*</cbc:Quantity>", "", f"{LINE}/cbc:Quantity", "is needed"),
        ('<cbc:Quantity unitCode="C62">', "<cbc:Quantity>", f"{LINE}/cbc:Quantity/@unitCode", "is needed"),
        (">60<", "><", f"{LINE}/cbc:Quantity", "is needed"),
        (">60<", ">1e3<", f"{LINE}/cbc:Quantity", "must be a number such as 12 or 18.40, with a point"),
        (">60<", ">1,5<", f"{LINE}/cbc:Quantity", "must be a number such as 12 or 18.40, with a point"),
        (">60<", ">NaN<", f"{LINE}/cbc:Quantity", "must be a number such as 12 or 18.40, with a point"),
        (">60<", ">٣<", f"{LINE}/cbc:Quantity", "must be a number such as 12 or 18.40, with a point"),
        (">60<", ">-1<", f"{LINE}/cbc:Quantity", "a quantity is 0 to 1000000 with at most 4 decimals"),
        (
            'unitCode="C62">60',
            'unitCode="BX">60',
            f"{LINE}/cbc:Quantity/@unitCode",
            "BX is a package and no unit: as a unit it is XBX (UN/ECE Recommendation 21)",
        ),
        ("2026-11-25", "25.11.2026", "/Order/cbc:IssueDate", "must be a day such as 2026-03-02"),
        ("2026-11-25", "2026-02-30", "/Order/cbc:IssueDate", "must be a day of the calendar such as 2026-03-02"),
        (
            "9521101530018",
            "9521101530019",
            f"{LINE}/cac:Item/cac:StandardItemIdentification/cbc:ID",
            "the check digit of the GTIN is wrong",
        ),
        (
            'PriceAmount currencyID="GBP"',
            'PriceAmount currencyID="EUR"',
            f"{LINE}/cac:Price/cbc:PriceAmount/@currencyID",
            "must be GBP, as elsewhere in the document",
        ),
        (
            "<cbc:DocumentCurrencyCode>GBP",
            "<cbc:DocumentCurrencyCode>BGX",
            "/Order/cbc:DocumentCurrencyCode",
            "BGX is no currency in use (ISO 4217); send a code such as GBP, EUR or USD",
        ),
        ("(<cbc:Quantity.*)", r"\1\1", f"{LINE}/cbc:Quantity[2]", "stands a second time: send one, or divide the line"),
        (
            "(<cbc:IssueDate.*)",
            r"\1\1",
            "/Order/cbc:IssueDate[2]",
            "stands a second time: send one, or divide the line",
        ),
        (
            "<cac:DeliveryLocation>",
            "<cac:DeliveryLocation><cbc:Description>gate</cbc:Description></cac:DeliveryLocation><cac:DeliveryLocation>",
            "/Order/cac:Delivery/cac:DeliveryLocation[2]",
            "stands a second time: send one, or divide the line",
        ),
        (
            "<cac:SellersItemIdentification>",
            f"{OTHER_NUMBER}<cac:SellersItemIdentification>",
            f"{LINE}/cac:Item/cac:SellersItemIdentification[2]",
            "stands a second time: send one, or divide the line",
        ),
        (
            "<cbc:PriceAmount",
            '<cbc:PriceAmount currencyID="EUR"/><cbc:PriceAmount',
            f"{LINE}/cac:Price/cbc:PriceAmount[2]",
            "stands a second time: send one, or divide the line",
        ),
        (">60<", ">6<x:y xmlns:x='urn:z'>junk</x:y>0<", f"{LINE}/cbc:Quantity", BESIDE),
        (">pr-0071<", ">pr<cbc:ID>-</cbc:ID>0071<", "/Order/cbc:CustomerReference", BESIDE),
        ("<cac:OrderLine>", "<cac:OrderLine>not this one", "/Order/cac:OrderLine", BESIDE),
        (">60<", ">0.00<", f"{LINE}/cbc:Quantity", "orders nothing: leave the line out"),
        (
            "cbc:CustomerReference>pr-0071</cbc:",
            "cac:CustomerReference>pr-0071</cac:",
            "/Order/cac:CustomerReference",
            "must be cbc:CustomerReference, in its namespace of UBL",
        ),
        (
            "<cbc:CustomerReference>pr-0071</cbc:",
            '<CustomerReference xmlns="">pr-0071</',
            "/Order/CustomerReference",
            "must be cbc:CustomerReference, in its namespace of UBL",
        ),
        (
            "<cbc:IssueDate>",
            "<cbc:CopyIndicator>true</cbc:CopyIndicator><cbc:IssueDate>",
            "/Order/cbc:CopyIndicator",
            "must be false or 0: a copy orders or reports nothing; send the original",
        ),
        (
            'unitCode="C62">4<',
            'unitCode="XBX">4<',
            f"{LINE}/cac:Price/cbc:BaseQuantity/@unitCode",
            "XBX is not the C62 that the line is counted in",
        ),
        (
            'unitCode="C62">4<',
            'unitCode="C62">0<',
            f"{LINE}/cac:Price/cbc:BaseQuantity",
            "a price is for more than nothing: leave it out where it is for one",
        ),
        (
            "<cac:BuyersItemIdentification>[^?]*</cac:StandardItemIdentification>",
            "",
            f"{LINE}/cac:Item/cac:BuyersItemIdentification/cbc:ID",
            "is needed, or the supplier's number or a GTIN",
        ),
        (
            "</cac:LineItem>",
            "</cac:LineItem><cac:SellerSubstitutedLineItem/>",
            "/Order/cac:OrderLine/cac:SellerSubstitutedLineItem",
            "sends other goods than were ordered: settle that with the supplier",
        ),
    ],
)
def test_faults_are_told_with_their_place(pattern: str, new: str, place: str, said: str) -> None:
    """Each fault has the XPath of what is wrong or missing, and says what is right."""
    assert (place, said) in wrong(swapped(pattern, new))


def test_all_faults_are_told_at_once() -> None:
    """What is wrong in several places is told of all, and in the form of RFC 9457."""
    body = ORDER.replace(">60<", ">x<").replace("2026-11-25", "soon").replace("9521101530018", "12")
    assert wrong(body) == [
        ("/Order/cbc:IssueDate", "must be a day such as 2026-03-02"),
        (f"{LINE}/cbc:Quantity", "must be a number such as 12 or 18.40, with a point"),
        (f"{LINE}/cac:Item/cac:StandardItemIdentification/cbc:ID", "must be a GTIN: 8, 12, 13 or 14 digits"),
    ]
    with pytest.raises(BadDocument) as error:
        read(body.encode(), Order)
    assert described(error.value.problem()) | {"errors": []} == {
        "type": "/problems/bad-document",
        "title": "The document cannot be read",
        "status": 422,
        "detail": "3 things are wrong; each stands under 'errors' with its place.",
        "errors": [],
    }


def test_second_lines_are_numbered_in_places() -> None:
    """Where there are several of a name, a place says which; a line's number stands once."""
    line = ORDER[ORDER.index(" <cac:OrderLine>") : ORDER.index("</Order>")]
    found = wrong(ORDER.replace("</Order>", f"{line.replace('>60<', '>x<')}</Order>"))
    assert (
        "/Order/cac:OrderLine[2]/cac:LineItem/cbc:Quantity",
        "must be a number such as 12 or 18.40, with a point",
    ) in (found)
    assert wrong(ORDER.replace("</Order>", f"{line}</Order>")) == [
        ("/Order/cac:OrderLine[2]/cac:LineItem/cbc:ID", "10 is named twice")
    ]


@pytest.mark.parametrize(
    ("document", "cut", "place", "said"),
    [
        (
            FULL[2],
            "DeliveredQuantity|BackorderQuantity|OutstandingQuantity",
            "/DespatchAdvice/cac:DespatchLine/cbc:DeliveredQuantity",
            "is needed, or how many were backorder, outstanding",
        ),
        (
            FULL[3],
            "ReceivedQuantity|ShortQuantity|RejectedQuantity",
            "/ReceiptAdvice/cac:ReceiptLine/cbc:ReceivedQuantity",
            "is needed, or how many were short, rejected",
        ),
        (
            FULL[3],
            "OrderLineReference|DespatchLineReference|Item",
            "/ReceiptAdvice/cac:ReceiptLine/cac:OrderLineReference",
            "is needed, or the line of a despatch, or a number of the goods",
        ),
    ],
)
def test_lines_that_say_nothing_are_refused(
    document: DespatchAdvice | ReceiptAdvice, cut: str, place: str, said: str
) -> None:
    """A line counts something, and it is told of which goods."""
    body = re.sub(rf"<(c[ab]c):({cut})\b[^?]*?</\1:\2>", "", written(document).decode())
    with pytest.raises(BadDocument) as error:
        read(body.encode(), type(document))
    assert [(fault.at, fault.detail) for fault in error.value.faults] == [(place, said)]


def test_units_of_a_line_are_one() -> None:
    """What was sent and what is to come are counted alike."""
    body = written(FULL[2]).decode().replace('unitCode="C62">12', 'unitCode="PR">12')
    with pytest.raises(BadDocument) as error:
        read(body.encode(), DespatchAdvice)
    assert str(error.value) == (
        "/DespatchAdvice/cac:DespatchLine/cbc:BackorderQuantity/@unitCode: "
        "PR is not the C62 that the line is counted in"
    )


def test_responses_of_other_words_are_listed() -> None:
    """A response is one of the words there are; a line's status may be the sender's own."""
    body = written(FULL[1]).decode().replace(">CA<", ">maybe<").replace(">3<", ">Disputed<")
    with pytest.raises(BadDocument) as error:
        read(body.encode(), OrderResponse)
    assert str(error.value) == "/OrderResponse/cbc:OrderResponseCode: must be one of AB, AP, CA, RE"
