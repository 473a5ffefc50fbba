"""The desk: what this ERP does about proposals and orders, again and again, until nothing is left to do.

Each look goes through all of it in the order of an order's life, so that it does not matter what has been missed.
"""

from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from uuid import NAMESPACE_URL, uuid5

from books import Books, Purchase
from doors import Json, RefusedError, Service

SUPPLIER = "sup-example"
BUYER, STORES = "p-erp-buyer", "p-erp-stores"
LEAD_DAYS = 3
Say = Callable[[str], None]


class Desk:
    """Somebody who buys: with whose keys, up to which amount by themselves, and where it is written down."""

    def __init__(self, service: Service, manager: Service | None, books: Books, most: Decimal, say: Say) -> None:
        self._service, self._manager, self._books, self._most, self._say = service, manager, books, most, say

    def look(self) -> None:
        """Do whatever there is to do now."""
        for proposal in self._service.reorders("open"):
            self._approve(proposal)
        for proposal in self._service.reorders("approved"):
            self._order(proposal)
        for purchase in self._books.open():
            self._follow(purchase)

    def _approve(self, proposal: Json) -> None:
        """Approve what is to be bought, up to the amount; more waits for a person."""
        manager, cost = self._manager, proposal["cost"]
        if proposal["quantity"] <= 0 or manager is None:
            return
        if cost is None or Decimal(cost["amount"]) > self._most:
            self._say(f"{proposal['id']}: waits for a person, at {cost}")
            return
        self._done(f"approved {_told(proposal)}", lambda: manager.approve(proposal["id"], {"by": BUYER}))

    def _order(self, proposal: Json) -> None:
        """Order what was approved: first it stands in our books, then it is told under that number."""
        quantity, unit = proposal["approval"]["quantity"], proposal["unit"]
        if quantity is None or unit is None:
            self._say(f"{proposal['id']}: waits for a person, approved without a quantity or a unit")
            return
        purchase = self._books.purchase(proposal["id"], proposal["site"], proposal["item"], unit, quantity)
        line = {"line": "1", "item": purchase.item, "quantity": purchase.quantity, "unit": purchase.unit}
        expected = datetime.now(UTC).date() + timedelta(days=LEAD_DAYS)
        said = {
            "by": BUYER,
            "order": purchase.order,
            "lines": [line],
            "supplier": SUPPLIER,
            "expected_on": expected.isoformat(),
        }
        self._done(
            f"ordered {_told(proposal)} as {purchase.order}", lambda: self._service.place(purchase.proposal, said)
        )

    def _follow(self, purchase: Purchase) -> None:
        """Deliver what was placed, in two parts, and be done with what is complete, or was called off."""
        state = self._service.reorder(purchase.proposal)["state"]
        if state == "placed":
            self._deliver(purchase, 1, purchase.quantity / 2)
        elif state == "part-received":
            self._deliver(purchase, 2, purchase.quantity / 2)
        elif state in {"closed", "short", "cancelled"}:
            self._books.close(purchase)
            self._say(f"{purchase.order}: {state}")

    def _deliver(self, purchase: Purchase, nth: int, quantity: float) -> None:
        """Receive a part of an order at the site, as a lot of its own."""
        event = {
            "id": str(uuid5(NAMESPACE_URL, f"{purchase.proposal}/{purchase.order}/{nth}")),
            "kind": "stock-received",
            "occurred_at": datetime.now(UTC).isoformat(),
            "by": STORES,
            "site": purchase.site,
            "item": purchase.item,
            "quantity": quantity,
            "unit": purchase.unit,
            "lot": f"{purchase.order}-{nth}",
            "order": purchase.order,
            "line": "1",
        }
        self._done(f"received {quantity:g} {purchase.unit} of {purchase.order}", lambda: self._service.post(event))

    def _done(self, what: str, ask: Callable[[], Json]) -> None:
        """Ask for something, and tell what came of it; what is refused is told, and looked at again the next time."""
        try:
            answer = ask()
        except RefusedError as error:
            self._say(f"refused, {what}: {error}")
        else:
            self._say(f"{what}: {answer['outcome']}")


def _told(proposal: Json) -> str:
    return f"{proposal['id']}: {proposal['quantity']:g} {proposal['unit']} of {proposal['item']} for {proposal['site']}"
