"""Lots: which one a site gets of an item on a day, and the one lot that is worth a recall."""

from datetime import date

from seed.items import Item
from seed.shelf import Lot

BAD_ITEM = "ar-p3"
BAD_LOT = "R0773Q"
BAD_SITES = ("harrow-dock", "callow-forge", "pellbrook", "cedar-flats", "marrow-bend")
BAD_DAYS = 48
BAD_PIECES = 10

TUBE_ITEM = "ar-tube-heat"
TUBE_LOT = "T0412H"


def lot_of(item: Item, day: date, count: int, half: str) -> Lot:
    """Give the lot that is delivered on a day: a new one every month, split in two halves, A and B."""
    return Lot(item.ref, f"{item.mark}{day:%y%m}{half}", expiry(item, day), count)


def bad_lot(item: Item, day: date) -> Lot:
    """Give the pieces of the lot worth a recall that one site gets."""
    return Lot(item.ref, BAD_LOT, expiry(item, day), BAD_PIECES)


def expiry(item: Item, day: date) -> str | None:
    """Give the month a lot made about three months before its delivery expires in."""
    if not item.shelf_months:
        return None
    months = day.year * 12 + day.month - 4 + item.shelf_months
    return f"{months // 12:04d}-{months % 12 + 1:02d}"
