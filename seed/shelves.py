"""Store rooms: deliveries, counts, transfers and discards, and the orders behind some of the deliveries."""

from collections.abc import Mapping
from datetime import date, datetime, timedelta

import msgspec

from seed.days import is_working, moment, working_after, working_on_or_before
from seed.items import BY_REF, ITEMS, Item
from seed.lots import BAD_DAYS, BAD_ITEM, BAD_SITES, bad_lot, lot_of
from seed.orders import approve_and_place, cancel
from seed.plant import Plant
from seed.shelf import Lot
from seed.world import World

LOW = 0.35
CANCELLED = 15
COUNTED = ("ar-p3", "ar-pre", "ar-cell", "pe-p3", "pe-abek-p3", "wipe-pack")


class Awaited(msgspec.Struct, eq=False):
    """A delivery on its way to a site, with its order and line where it was ordered."""

    plant: Plant
    item: Item
    count: int
    on: date
    order: str | None = None


def stock_up(world: World, plant: Plant, day: date) -> None:
    """Fill the shelf for the first time."""
    for item in (item for item in ITEMS if item.keep):
        receive(world, Awaited(plant, item, item.keep, day))


def go(world: World, plant: Plant, today: date) -> list[Awaited]:
    """Count on the month's first working day, reorder what runs low on Tuesdays, and give what was ordered."""
    if not is_working(plant.site, today):
        return []
    if working_on_or_before(plant.site, today - timedelta(days=1)).month != today.month:
        _count(world, plant, today)
    if plant.site.ref in BAD_SITES and today == working_on_or_before(plant.site, world.before_end(BAD_DAYS)):
        _receive_bad_lot(world, plant, today)
    return _reorder(world, plant, today) if today.weekday() == 1 else []


def receive(world: World, awaited: Awaited) -> None:
    """Post a delivery and lay it on the shelf."""
    lot = lot_of(awaited.item, awaited.on, awaited.count, world.dice.choice("AB"))
    order = {"order": awaited.order, "line": "1"} if awaited.order else {}
    _post_receipt(
        world, awaited.plant, lot, moment(awaited.plant.site, awaited.on, 10 * 60 + world.dice.between(0, 90)), order
    )
    awaited.plant.shelf.put(lot)
    awaited.plant.expected.discard(awaited.item.ref)


def _post_receipt(world: World, plant: Plant, lot: Lot, at: datetime, more: Mapping[str, object]) -> None:
    fields = {"item": lot.item, "quantity": lot.left, "unit": "each", "lot": lot.lot, "expires": lot.expires}
    world.note(plant, "stock-received", at, plant.keeper, {**fields, "place": "store", **more})


def _receive_bad_lot(world: World, plant: Plant, today: date) -> None:
    """Receive the lot worth a recall; it lies in front and is used first."""
    lot = bad_lot(BY_REF[BAD_ITEM], today)
    _post_receipt(world, plant, lot, moment(plant.site, today, 11 * 60), {})
    plant.shelf.put(lot, in_front=True)


def _count(world: World, plant: Plant, today: date) -> None:
    for ref in COUNTED:
        held = plant.shelf.held(ref)
        fields = {
            "item": ref,
            "quantity": max(0, held - world.dice.choice((0, 0, 0, 1))),
            "unit": "each",
            "place": "store",
        }
        world.note(
            plant, "stock-counted", moment(plant.site, today, 14 * 60 + world.dice.between(0, 60)), plant.keeper, fields
        )
        lot = plant.shelf.first(ref)
        if lot is not None and lot.lot and world.dice.happens(0.03):
            discard(world, plant, lot, today)


def discard(world: World, plant: Plant, lot: Lot, today: date) -> None:
    """Throw damaged pieces away."""
    if plant.shelf.take(lot.item) is None:
        return
    fields = {"item": lot.item, "quantity": 1, "unit": "each", "lot": lot.lot, "reason": "packing torn"}
    world.note(plant, "stock-discarded", moment(plant.site, today, 15 * 60 + 20), plant.keeper, fields)


def _reorder(world: World, plant: Plant, today: date) -> list[Awaited]:
    """Order what is low; a few orders are cancelled and come as plain deliveries from the central store instead."""
    awaited = []
    for item in ITEMS:
        if item.ref in plant.expected or plant.shelf.held(item.ref) >= item.keep * LOW:
            continue
        plant.expected.add(item.ref)
        at = moment(plant.site, today, 10 * 60 + world.dice.between(0, 300))
        order: str | None = approve_and_place(world, plant, item, at)
        if world.orders % CANCELLED == 0:
            cancel(world, plant, str(order), at + timedelta(hours=20))
            order = None
        awaited.append(
            Awaited(plant, item, item.keep, working_after(plant.site, today, world.dice.between(3, 9)), order)
        )
    return awaited
