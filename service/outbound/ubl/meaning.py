"""What may not be passed over: elements that change which goods are meant, how many, or whether any are. Only rows.

Each has the texts that change nothing; with any other the document is refused. Source of what the elements mean: the
definitions in the schemas of UBL 2.1 (OASIS, read).
"""

from collections.abc import Mapping
from typing import Final, NamedTuple

from service.outbound.ubl.node import Node
from service.outbound.ubl.plain_text import meant
from service.outbound.ubl.table import Form


class Guard(NamedTuple):
    """An element that is looked at: what is said of it, and the texts with which it changes nothing."""

    told: str
    neutral: frozenset[str] = frozenset()
    form: Form = "text"

    def allows(self, node: Node) -> bool:
        """Say whether an element changes nothing. Numbers are compared as numbers."""
        text = meant(node.text, self.form) if node.text else ""
        return not node.children and text in self.neutral


NO_STATUS: Final = frozenset({"", "NoStatus"})
"""In the examples of UBL 2.1 the status of what is as it was (read in copies of them)."""

MEANING: Final[Mapping[str, Guard]] = {
    "cac:SellerProposedSubstituteLineItem": Guard(
        "offers other goods than were ordered: settle that with the supplier"
    ),
    "cac:SellerSubstitutedLineItem": Guard("sends other goods than were ordered: settle that with the supplier"),
    "cac:BuyerProposedSubstituteLineItem": Guard("allows other goods: order one item a line"),
    "cbc:SubstitutionStatusCode": Guard(
        "speaks of other goods than were ordered: send one item a line", frozenset({""})
    ),
    "cac:SubLineItem": Guard("divides the line: send each part as a line of its own"),
    "cac:LineItem/cac:Delivery/cbc:Quantity": Guard(
        "divides the line: send each delivery as a line of its own", frozenset({""})
    ),
    "cbc:CopyIndicator": Guard(
        "must be false or 0: a copy orders or reports nothing; send the original", frozenset({"false", "0"})
    ),
    "cbc:LineStatusCode": Guard(
        "changes what the line says, or takes it back: only NoStatus is read; send what holds, and no more", NO_STATUS
    ),
    "cbc:DocumentStatusCode": Guard(
        "changes what the document says, or takes it back: only NoStatus is read; send what holds, and no more",
        NO_STATUS,
    ),
    "cbc:OversupplyQuantity": Guard(
        "is more than was ordered, and whether the line counts it is not said: count it there, and leave this out",
        frozenset({"", "0"}),
        "number",
    ),
    "cbc:OrderableUnitFactorRate": Guard(
        "has the price in another unit than is ordered: send it per unit of the line, and leave this out",
        frozenset({"", "1"}),
        "number",
    ),
    "cbc:OrderTypeCode": Guard(
        "is of a sort that may order nothing by itself: 105 and 220 are read (UN/EDIFACT 1001)",
        frozenset({"", "105", "220"}),
    ),
    "cbc:DespatchAdviceTypeCode": Guard(
        "is of a sort that may send nothing by itself: 351 is read (UN/EDIFACT 1001), and delivery",
        frozenset({"", "351", "delivery"}),
    ),
    "cbc:ReceiptAdviceTypeCode": Guard(
        "is of a sort that may report nothing by itself: 632 is read (UN/EDIFACT 1001)", frozenset({"", "632"})
    ),
}
"""By name, or by the way to it where it means this only there.

Of the sorts, 220 is in what orders of Peppol say and `delivery` in the example of UBL 2.1 (read in copies of it); that
105, 351 and 632 are a purchase order, a despatch advice and a receipt of goods is from memory.
"""


def guard_of(node: Node) -> Guard | None:
    """Give the row of an element, if it has one."""
    way, above = node.name, node.parent
    while above is not None and way not in MEANING:
        way, above = f"{above.name}/{way}", above.parent
    return MEANING.get(way)
