"""Parts: fitting one from the shelf, and the parts a unit comes with."""

from datetime import date, datetime

from seed.items import BY_REF, Item
from seed.lots import expiry, lot_of
from seed.models import FILTER_ROLES, Model, Position
from seed.plant import Plant
from seed.shelf import Lot
from seed.unit import Fitted, Unit
from seed.world import World


def first_parts(world: World, model: Model, size: str | None, day: date) -> dict[str, Fitted]:
    """Draw the parts a unit is delivered with."""
    parts: dict[str, Fitted] = {}
    for position in model.positions:
        item = item_for(world, position, size)
        lot = lot_of(item, day, 1, world.dice.choice("AB"))
        parts[position.position] = Fitted(item.ref, lot.lot, lot.expires, day, world.dice.between(0, 12))
    return parts


def item_for(world: World, position: Position, size: str | None) -> Item:
    """Choose an item listed for a position, in the wearer's size where sizes differ."""
    items = [BY_REF[ref] for ref in position.items]
    fitting = [item for item in items if item.size in {None, size}]
    return world.dice.choice(fitting)


def part(fitted: Fitted, *, opened: date | None = None) -> dict[str, object]:
    """Write a part as messages carry it."""
    named = {
        "item": fitted.item, "lot": fitted.lot, "expires": fitted.expires,
        "opened_on": opened.isoformat() if opened else None, "condition": "new",
    }  # fmt: skip
    return {name: value for name, value in named.items() if value is not None}


def fit(  # who fitted what, where, when and why
    world: World, plant: Plant, unit: Unit, position: str, at: datetime, by: str, reason: str, *, lot_seen: bool = True
) -> datetime:
    """Replace the part in a position by the next piece on the shelf; `lot_seen` false leaves the lot out."""
    old = unit.parts[position]
    piece = plant.shelf.take(old.item) or _fetched(world, BY_REF[old.item], at.date())
    new = Fitted(old.item, piece.lot if lot_seen else None, piece.expires if lot_seen else None, at.date())
    return swap(world, plant, unit, position, at, by, reason, new)


def swap(  # as above
    world: World, plant: Plant, unit: Unit, position: str, at: datetime, by: str, reason: str, new: Fitted
) -> datetime:
    """Post that a part was replaced by another, and remember it."""
    old = unit.parts[position]
    role = unit.model.position(position).role
    kind = "filter-replaced" if role in FILTER_ROLES else "part-replaced"
    fields: dict[str, object] = {
        "position": position,
        "in": part(new, opened=at.date() if role == "gas" else None),
        "out": {"item": old.item} | ({"lot": old.lot} if old.lot else {}),
        "reason": reason,
    }
    unit.parts[position] = new
    if role == "particle":
        unit.loading = 0.0
    if role == "battery":
        unit.capacity = 98.0
    return world.about(plant, unit, kind, at, by, "kiosk", fields)


def _fetched(world: World, item: Item, day: date) -> Lot:
    """Give a piece that was fetched from the central store without a receipt."""
    lot = lot_of(item, day, 1, world.dice.choice("AB"))
    return Lot(item.ref, lot.lot, expiry(item, day), 1)
