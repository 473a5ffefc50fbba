"""Orders as an integrator posts them: a proposal approved, an order placed, now and then cancelled."""

from datetime import datetime, timedelta

from seed.items import Item
from seed.plant import Plant
from seed.world import BUYER, MANAGER, World


def approve_and_place(world: World, plant: Plant, item: Item, at: datetime) -> str:
    """Approve a proposal and place its order; give the order's number."""
    world.orders += 1
    proposal, order = f"prop-{world.orders:05d}", f"po-{70000 + world.orders}"
    site = plant.site.ref
    world.book.write("reorder-approved", at, MANAGER, site, None, {"proposal": proposal, "quantity": item.keep})
    line = {
        "line": "1",
        "item": item.ref,
        "quantity": item.keep,
        "unit": "each",
        "price": item.price,
        "currency": "GBP",
    }
    fields = {
        "proposal": proposal, "order": order, "lines": [line], "supplier": "group-stores",
        "expected_on": (at + timedelta(days=9)).date().isoformat(),
    }  # fmt: skip
    world.book.write("order-placed", at + timedelta(minutes=30), BUYER, site, None, fields)
    return order


def cancel(world: World, plant: Plant, order: str, at: datetime) -> None:
    """Cancel an order."""
    fields = {"order": order, "reason": "supplied from the central store"}
    world.book.write("order-cancelled", at, BUYER, plant.site.ref, None, fields)
