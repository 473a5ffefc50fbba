"""Which words of CBV 2.0 tell each kind of event, and which kinds are not told.

Only rows may live here. A step that CBV has no word for is `Own`, an address of ours. A kind whose words depend on what
it says has rows of "kind value", `VARIES` naming the member. That these are words of CBV, its schema shows; what
`shipping`, `stock_taking`, `destroying`, `disposed`, `expired` and `unknown` mean is from memory.
"""

from collections.abc import Mapping
from typing import Final, Literal, NamedTuple

Action = Literal["ADD", "OBSERVE", "DELETE"]


class Own(str):
    """A step of our own."""

    __slots__ = ()


class Row(NamedTuple):
    """The words for a kind.

    `judged` says that its disposition holds only where the event proves it, and turns where it proves the opposite;
    `stays` that its thing is still there afterwards.
    """

    step: str
    disposition: str | None = None
    action: Action = "OBSERVE"
    judged: bool = False
    stays: bool = True


OBJECTS: Final[Mapping[str, Row]] = {
    "registered": Row("commissioning", "active", "ADD"),
    "retagged": Row("decommissioning", "inactive", "DELETE", stays=False),
    "issued": Row(Own("issuing"), "in_progress"),
    "returned": Row("receiving", "returned"),
    "stationed": Row(Own("stationing"), "in_progress"),
    "moved": Row("shipping", "in_transit", stays=False),
    "received": Row("receiving", "in_progress"),
    "sent-to-service": Row("shipping", "in_transit", stays=False),
    "worn": Row(Own("wearing"), "in_progress"),
    "checked": Row("inspecting", "conformant", judged=True),
    "failed-check": Row("inspecting", "conformant", judged=True),
    "failed-in-use": Row(Own("failing-in-use"), "non_conformant"),
    "examined": Row("inspecting", "conformant", judged=True),
    "cleaned": Row(Own("cleaning")),
    "repaired": Row("repairing", "conformant", judged=True),
    "quarantined": Row("holding", "unavailable"),
    "quarantined recall": Row("holding", "recalled"),
    "released": Row("inspecting", "available", judged=True),
    "missing": Row(Own("missing"), "unknown", stays=False),
    "found": Row(Own("finding"), "unavailable"),
    "recall-actioned fixed": Row("repairing", "conformant"),
    "recall-actioned not-affected": Row("inspecting", "conformant"),
    "recall-actioned scrapped": Row("inspecting", "non_conformant"),
    "retired": Row("decommissioning", "inactive", "DELETE", stays=False),
}
"""Units. A release is told as the look at the evidence that it is; without ground it makes nothing available."""

STOCK: Final[Mapping[str, Row]] = {
    "stock-received": Row("receiving", "in_progress"),
    "stock-counted": Row("stock_taking"),
    "stock-moved": Row("shipping", "in_transit", stays=False),
    "stock-discarded": Row("destroying", "disposed", "DELETE", stays=False),
}
"""Quantities of an item."""

FITTED: Final = Row("installing", "active", "ADD")
REMOVED: Final = Row("removing", "unknown", "DELETE")
IDENTIFIED: Final = Row("inspecting")
UNNAMED: Final = Row(Own("identifying"), action="DELETE")
NAMED: Final = Row(Own("identifying"), "active", "ADD")
"""What was known by another name until somebody looked: nobody took it out, and nobody put it in."""
LEFT: Final = Row(Own("retagging"), action="DELETE", stays=False)
CARRIED: Final = Row(Own("retagging"), "active", "ADD")
"""What sits in a unit that has a new name: under the old one it is no more, and nobody took it out."""
ASSOCIATED: Final = ("filter-replaced", "part-replaced", "part-identified")
"""Kinds that tell of parts alone."""

REMOVED_FOR: Final[Mapping[str, str]] = {
    "damage": "damaged",
    "contamination": "damaged",
    "expiry": "expired",
    "recall": "recalled",
    "loading": "needs_replacement",
    "service-limit": "needs_replacement",
    "schedule": "needs_replacement",
}
"""How a part is when it is taken out, by the reason: a part changed on schedule is not damaged."""

VARIES: Final[Mapping[str, str]] = {"quarantined": "reason", "recall-actioned": "result"}

PERSON: Final = "it tells of a person; persons are never handed on"
DEFINITION: Final = "it defines what events refer to, and nothing happens to a thing"
PAPER: Final = "it is a step of a purchase, which is handed on as an order"
LEFT_OUT: Final[Mapping[str, str]] = {
    "use-set": "what a unit is meant for is decided on paper, by a person: nothing happens to the unit",
    **dict.fromkeys(("trained", "fit-tested", "medically-cleared", "assigned", "authorisation-ended"), PERSON),
    **dict.fromkeys(("reorder-approved", "order-placed", "order-cancelled"), PAPER),
    **dict.fromkeys(("site-defined", "model-defined", "item-defined"), DEFINITION),
    **dict.fromkeys(("task-defined", "policy-set", "instrument-defined"), DEFINITION),
    "recall-opened": "it names what is affected by what it is like, not by its name; quarantines tell of each unit",
    "recall-closed": "it ends a campaign, and nothing happens to a unit",
    "exception-acknowledged": "it is a note about a report",
    "voided": "it stands as an error declaration in the event that it takes back",
}
"""Kinds that make no event, and why."""
