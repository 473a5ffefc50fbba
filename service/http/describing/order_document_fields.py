"""What each member of answers about documents of purchase says; what it means elsewhere stands in `answer_fields.py`.

Only sentences may live here.
"""

from itertools import product
from typing import Final

WHOLE: Final[dict[str, str]] = {
    "document": "What it is.",
    "id": "The number that its sender gave it.",
    "orders": "The orders that it names.",
    "passed_over": "Elements of UBL that no field is made of, by XPath, at most 100; of a table there are none.",
    "more_passed_over": "How many more there are.",
}
GOODS: Final[dict[str, str]] = {
    "line": "The line of the document.",
    "order": "The order that it is of; null where none is told.",
    "order_line": "The line of the order; null where none is told.",
    "item": "The item, by reference.",
    "unit": "The unit, as the item or the order has it.",
}
ORDER_DOCUMENT_FIELDS: Final[dict[str, str]] = {
    **{f"{shape}.{name}": said for shape, (name, said) in product(("OrderDocument", "OrderReceipt"), WHOLE.items())},
    **{
        f"{shape}.{name}": said
        for shape, (name, said) in product(("GoodsComing", "GoodsToFollow", "GoodsMissed"), GOODS.items())
    },
    "OrderDocument.response": "What a response makes of the order; null for a despatch.",
    "OrderDocument.despatch": "What a despatch brings; null for a response.",
    "OrderReceipt.results": "One result for each event that was to be recorded, in the order of the lines; a line has "
    "several where its lots are told apart, and none where nothing of it was taken.",
    "OrderReceipt.missed": "What was short or refused: nothing of it is recorded.",
    "ReceiptResult.line": "The line of the receipt.",
    "NamedOrder.order": "Its number.",
    "NamedOrder.proposals": "The proposals that became it, at the sites that the key reads; none where no such order "
    "is known.",
    "OrderAnswer.order": "The number of the order.",
    "OrderAnswer.response": "The number of the response.",
    "OrderAnswer.outcome": "What becomes of the order as a whole; `received`: nothing is said of it yet.",
    "OrderAnswer.promised_on": "The day that all is promised for; null where none is said.",
    "OrderAnswer.lines": "What becomes of each line that something is said of; one that is divided stands as often.",
    "unanswered": "The lines of the order that nothing is said of.",
    "AnsweredLine.line": "The line of the order.",
    "AnsweredLine.outcome": "What becomes of it. What it says counts before what its status calls it.",
    "AnsweredLine.item": "The item that is offered.",
    "AnsweredLine.quantity": "How much of it.",
    "AnsweredLine.unit": "The unit.",
    "AnsweredLine.price": "The price of one unit; null where none was said.",
    "AnsweredLine.currency": "Its currency (ISO 4217); null where no price was said.",
    "AnsweredLine.backorder": "How much the supplier has on back order.",
    "AnsweredLine.promised_on": "The day that it is promised for; null where none is said.",
    "changes": "What is not as it was ordered, by the members here.",
    "note": "What the sender wrote beside it.",
    "despatch": "The number of the despatch.",
    "sent_on": "The day on which it was sent.",
    "Despatched.site": "Where it goes, as it says; null where it does not.",
    "Despatched.expected_on": "The day it is expected; null where none is said.",
    "Despatched.lines": "What is on its way, lot by lot.",
    "to_follow": "What of its lines is not on its way yet.",
    "GoodsComing.quantity": "How much.",
    "GoodsComing.lot": "The lot; null where none is told.",
    "GoodsComing.expires": "The last day on which it may be used; null where none is told.",
    "GoodsToFollow.backorder": "How much the supplier has on back order.",
    "GoodsToFollow.outstanding": "How much follows in a later despatch.",
    "fate": "`short`: it was sent and did not come. `rejected`: it came and was not taken.",
    "GoodsMissed.quantity": "How much.",
    "GoodsMissed.reason": "Why it was not taken; null where nothing is said.",
}
