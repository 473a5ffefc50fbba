"""Stock that one site passes on to its neighbour."""

from datetime import date

from seed.days import is_working, moment
from seed.loans import NEIGHBOURS
from seed.lots import BAD_LOT
from seed.plant import Plant
from seed.shelf import Lot
from seed.world import World

PASSES_ON = 0.012
PIECES = 4
ITEMS = ("ar-p3", "ar-pre", "ar-spark", "pe-p3")


def go(world: World, plant: Plant, today: date) -> None:
    """Pass a few pieces of one lot on, now and then; the lot worth a recall stays where it came."""
    target = NEIGHBOURS.get(plant.site.ref)
    if target is None or not is_working(plant.site, today) or not world.dice.happens(PASSES_ON):
        return
    item = world.dice.choice(ITEMS)
    first = plant.shelf.first(item)
    if first is None or first.lot == BAD_LOT:
        return
    lot = plant.shelf.take(item, PIECES)
    if lot is None or lot.lot == BAD_LOT:
        return
    fields = {
        "to_site": target, "item": item, "quantity": PIECES, "unit": "each", "lot": lot.lot, "expires": lot.expires,
    }  # fmt: skip
    world.note(plant, "stock-moved", moment(plant.site, today, 16 * 60), plant.lead, fields)
    world.plants[target].shelf.put(Lot(item, lot.lot, lot.expires, PIECES))
