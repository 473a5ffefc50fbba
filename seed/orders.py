"""Orders as an integrator posts them: a proposal approved, an order placed, now and then cancelled."""

from datetime import datetime, timedelta
from hashlib import sha256

from seed.items import Item
from seed.plant import Plant
from seed.world import BUYER, MANAGER, World


def approve_and_place(world: World, plant: Plant, item: Item, at: datetime) -> str:
    """Approve a proposal and place its order; give the order's number."""
    world.orders += 1
    site, order = plant.site.ref, f"po-{70000 + world.orders}"
    n = world.needs.get((site, item.ref), 0)
    world.needs[site, item.ref] = n + 1
    proposal = proposal_id(site, item.ref, n)
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


def proposal_id(site: str, item: str, n: int) -> str:
    """Give the id under which the service proposes the nth need of an item at a site, as /v1/reorders told it."""
    parts = [part.encode() for part in (site, item, str(n))]
    return "pr-" + sha256(b"".join(len(part).to_bytes(4) + part for part in parts)).hexdigest()[:20]


def cancel(world: World, plant: Plant, order: str, at: datetime) -> None:
    """Cancel an order."""
    fields = {"order": order, "reason": "supplied from the central store"}
    world.book.write("order-cancelled", at, BUYER, plant.site.ref, None, fields)
