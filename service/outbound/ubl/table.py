"""Where each field stands in UBL 2.1, in the order of the schemas. Only rows, and what a row may say, may live here.

A path leads through elements, those that may repeat with a star behind them, to an attribute (`@`) or to the element
itself (`.`). Rows with a common beginning share its elements up to the first that may repeat.
"""

from collections.abc import Iterator, Mapping
from typing import Final, Literal, NamedTuple

from msgspec import Struct

from service.outbound.ubl.documents import DespatchAdvice, Order, OrderResponse, ReceiptAdvice

URN: Final = "urn:oasis:names:specification:ubl:schema:xsd:"
NAMESPACES: Final[Mapping[str, str]] = {
    "cac": f"{URN}CommonAggregateComponents-2",
    "cbc": f"{URN}CommonBasicComponents-2",
    "ext": f"{URN}CommonExtensionComponents-2",
}
VERSION: Final = "2.1"

Form = Literal["text", "number", "amount", "day"]
Times = Literal["once", "first", "joined", "listed"]
"""What becomes of texts where the path has several: there is one, the first is read, they make one, or a list."""


class Leaf(NamedTuple):
    """A field with a text of its own. `others` are read where the first path has nothing.

    `scheme` are the schemes that the text may be of, the one that is written first; "" where none is told.
    """

    field: str
    path: str
    form: Form = "text"
    times: Times = "once"
    others: tuple[str, ...] = ()
    scheme: tuple[str, ...] = ()

    @property
    def ways(self) -> tuple[str, ...]:
        """Give the paths in the order in which they are read."""
        return (self.path, *self.others)


class Branch(NamedTuple):
    """A field with fields; several of them where the path has a star at its end.

    `rather` are read instead of the path, and `others` after it: the first that says something.
    """

    field: str
    path: str
    rows: tuple["Leaf | Branch", ...]
    others: tuple[str, ...] = ()
    rather: tuple[str, ...] = ()

    @property
    def ways(self) -> tuple[str, ...]:
        """Give the paths in the order in which they are read."""
        return (*self.rather, self.path, *self.others)

    @property
    def many(self) -> bool:
        """Say whether the field is a list."""
        return self.path.endswith("*")


Rows = tuple[Leaf | Branch, ...]

MEASURE: Final[Rows] = (Leaf("value", ".", "number"), Leaf("unit", "@unitCode"))
MONEY: Final[Rows] = (Leaf("amount", ".", "amount"), Leaf("currency", "@currencyID"))
ADDRESS: Final[Rows] = (
    Leaf("street", "cbc:StreetName"),
    Leaf("city", "cbc:CityName"),
    Leaf("postcode", "cbc:PostalZone"),
    Leaf("region", "cbc:CountrySubentity"),
    Leaf("lines", "cac:AddressLine*/cbc:Line", times="listed"),
    Leaf("country", "cac:Country/cbc:IdentificationCode"),
)
PARTY: Final[Rows] = (
    Leaf("id", "cac:Party/cac:PartyIdentification*/cbc:ID", times="first", others=("cac:Party/cbc:EndpointID",)),
    Leaf(
        "name",
        "cac:Party/cac:PartyName*/cbc:Name",
        times="first",
        others=("cac:Party/cac:PartyLegalEntity*/cbc:RegistrationName",),
    ),
    Branch("address", "cac:Party/cac:PostalAddress", ADDRESS),
)
INSTANCE: Final[Rows] = (
    Leaf("serial", "cbc:SerialID"),
    Leaf("lot", "cac:LotIdentification/cbc:LotNumberID"),
    Leaf("expires", "cac:LotIdentification/cbc:ExpiryDate", "day", others=("cbc:BestBeforeDate",)),
)
ITEM: Final[Rows] = (
    Leaf("name", "cbc:Name"),
    Leaf("item", "cac:BuyersItemIdentification/cbc:ID"),
    Leaf(
        "part_number",
        "cac:SellersItemIdentification/cbc:ID",
        times="first",
        others=("cac:ManufacturersItemIdentification*/cbc:ID",),
    ),
    Leaf("gtin", "cac:StandardItemIdentification/cbc:ID", scheme=("0160", "GTIN", "")),
    Branch("instances", "cac:ItemInstance*", INSTANCE),
)
PRICE: Final[Rows] = (
    Leaf("amount", "cbc:PriceAmount", "amount"),
    Leaf("currency", "cbc:PriceAmount/@currencyID"),
    Branch("per", "cbc:BaseQuantity", MEASURE),
)
ORDER_LINE_REF: Final[Rows] = (Leaf("line", "cbc:LineID"), Leaf("order", "cac:OrderReference/cbc:ID"))
DESPATCH_LINE_REF: Final[Rows] = (Leaf("line", "cbc:LineID"), Leaf("despatch", "cac:DocumentReference/cbc:ID"))


def _delivery(period: str) -> Rows:
    """Give the rows of a delivery whose days stand in a period of that name."""
    return (
        Leaf("done_on", "cbc:ActualDeliveryDate", "day"),
        Leaf("site", "cac:DeliveryLocation/cbc:ID"),
        Leaf("name", "cac:DeliveryLocation/cbc:Name"),
        Branch("address", "cac:DeliveryLocation/cac:Address", ADDRESS, others=("cac:DeliveryAddress",)),
        Leaf("earliest", f"cac:{period}/cbc:StartDate", "day"),
        Leaf("latest", f"cac:{period}/cbc:EndDate", "day"),
    )


SHIPMENT: Final[Rows] = (
    Leaf("id", "cbc:ID"),
    Branch("delivery", "cac:Delivery", _delivery("EstimatedDeliveryPeriod")),
    Leaf("despatched_on", "cac:Delivery/cac:Despatch/cbc:ActualDespatchDate", "day"),
)
HEAD: Final[Rows] = (Leaf("id", "cbc:ID"), Leaf("issued_on", "cbc:IssueDate", "day"))
NOTE: Final = Leaf("note", "cbc:Note*", times="joined")
BUYER: Final = Branch("buyer", "cac:BuyerCustomerParty", PARTY)
SELLER: Final = Branch("supplier", "cac:SellerSupplierParty", PARTY)
RECEIVER: Final = Branch("buyer", "cac:DeliveryCustomerParty", PARTY, rather=("cac:BuyerCustomerParty",))
SENDER: Final = Branch("supplier", "cac:DespatchSupplierParty", PARTY, rather=("cac:SellerSupplierParty",))
SHIPPED: Final = Branch("shipment", "cac:Shipment", SHIPMENT)
ORDERS: Final = Leaf("orders", "cac:OrderReference*/cbc:ID", times="listed")

ORDER: Final[Rows] = (
    *HEAD,
    NOTE,
    Leaf("currency", "cbc:DocumentCurrencyCode"),
    Leaf("proposal", "cbc:CustomerReference"),
    BUYER,
    SELLER,
    Branch("delivery", "cac:Delivery", _delivery("RequestedDeliveryPeriod")),
    Branch(
        "lines",
        "cac:OrderLine*",
        (
            Leaf("id", "cac:LineItem/cbc:ID"),
            Leaf("note", "cac:LineItem/cbc:Note*", times="joined", others=("cbc:Note*",)),
            Branch("quantity", "cac:LineItem/cbc:Quantity", MEASURE),
            Branch("total", "cac:LineItem/cbc:LineExtensionAmount", MONEY),
            Branch("price", "cac:LineItem/cac:Price", PRICE),
            Branch("item", "cac:LineItem/cac:Item", ITEM),
        ),
    ),
)
ORDER_RESPONSE: Final[Rows] = (
    *HEAD,
    Leaf("response", "cbc:OrderResponseCode"),
    NOTE,
    Leaf("currency", "cbc:DocumentCurrencyCode"),
    Leaf("order", "cac:OrderReference/cbc:ID"),
    SELLER,
    BUYER,
    Branch("delivery", "cac:Delivery", _delivery("PromisedDeliveryPeriod")),
    Branch(
        "lines",
        "cac:OrderLine*",
        (
            Leaf("id", "cac:LineItem/cbc:ID"),
            Leaf("note", "cac:LineItem/cbc:Note*", times="joined", others=("cbc:Note*",)),
            Leaf("status", "cac:LineItem/cbc:LineStatusCode"),
            Branch("quantity", "cac:LineItem/cbc:Quantity", MEASURE),
            Branch("total", "cac:LineItem/cbc:LineExtensionAmount", MONEY),
            Branch("backorder", "cac:LineItem/cbc:MaximumBackorderQuantity", MEASURE),
            Branch("delivery", "cac:LineItem/cac:Delivery", _delivery("PromisedDeliveryPeriod")),
            Branch("price", "cac:LineItem/cac:Price", PRICE),
            Branch("item", "cac:LineItem/cac:Item", ITEM),
            Branch("answers", "cac:OrderLineReference", ORDER_LINE_REF),
        ),
    ),
)
DESPATCH_ADVICE: Final[Rows] = (
    *HEAD,
    NOTE,
    ORDERS,
    SENDER,
    RECEIVER,
    SHIPPED,
    Branch(
        "lines",
        "cac:DespatchLine*",
        (
            Leaf("id", "cbc:ID"),
            NOTE,
            Branch("despatched", "cbc:DeliveredQuantity", MEASURE),
            Branch("backorder", "cbc:BackorderQuantity", MEASURE),
            Leaf("backorder_reason", "cbc:BackorderReason*", times="joined"),
            Branch("outstanding", "cbc:OutstandingQuantity", MEASURE),
            Leaf("outstanding_reason", "cbc:OutstandingReason*", times="joined"),
            Branch("answers", "cac:OrderLineReference", ORDER_LINE_REF),
            Branch("item", "cac:Item", ITEM),
        ),
    ),
)
RECEIPT_ADVICE: Final[Rows] = (
    *HEAD,
    NOTE,
    ORDERS,
    Leaf("despatches", "cac:DespatchDocumentReference*/cbc:ID", times="listed"),
    RECEIVER,
    SENDER,
    SHIPPED,
    Branch(
        "lines",
        "cac:ReceiptLine*",
        (
            Leaf("id", "cbc:ID"),
            NOTE,
            Branch("received", "cbc:ReceivedQuantity", MEASURE),
            Branch("short", "cbc:ShortQuantity", MEASURE),
            Branch("rejected", "cbc:RejectedQuantity", MEASURE),
            Leaf("reject_reason", "cbc:RejectReason*", times="joined"),
            Leaf("received_on", "cbc:ReceivedDate", "day"),
            Branch("answers", "cac:OrderLineReference", ORDER_LINE_REF),
            Branch("despatched", "cac:DespatchLineReference", DESPATCH_LINE_REF),
            Branch("item", "cac:Item", ITEM),
        ),
    ),
)

TABLE: Final[Mapping[type[Struct], Rows]] = {
    Order: ORDER,
    OrderResponse: ORDER_RESPONSE,
    DespatchAdvice: DESPATCH_ADVICE,
    ReceiptAdvice: RECEIPT_ADVICE,
}
"""The rows of each document; its name is that of its root."""


def path_of(steps: str) -> list[str]:
    """Take a path apart, without attribute and `.`."""
    return [step for step in steps.split("/") if step != "." and not step.startswith("@")]


def _names(rows: Rows) -> Iterator[str]:
    for row in rows:
        for path in row.ways:
            yield from (step.rstrip("*") for step in path_of(path))
        if isinstance(row, Branch):
            yield from _names(row.rows)


NAMES: Final = frozenset(name for rows in TABLE.values() for name in _names(rows))
"""All elements that are read, with their prefixes."""
