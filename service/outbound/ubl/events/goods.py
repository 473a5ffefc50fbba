"""Which of a firm's items goods are: by the firm's own reference, else by GTIN, else by part number.

A number that speaks of another item than the one found refuses the match, since one of the two is wrong. So does a GTIN
that is not the item's: another package of the same goods has another one (from memory), and is counted otherwise.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping

import msgspec

from service.domain.kinds.item_defined import ItemDefined
from service.domain.stock.changes import ONE
from service.domain.stock.lines import is_alike, unit_of
from service.domain.value import FieldError
from service.outbound.ubl.parts import Item, Measure
from service.reference.units import unit_wrong

Numbers = Mapping[str, tuple[str, ...]]


class Goods(msgspec.Struct, frozen=True):
    """The items of a firm by reference, and their references by GTIN (of 14 digits) and by part number."""

    items: Mapping[str, ItemDefined]
    by_gtin: Numbers
    by_part_number: Numbers


def goods_of(items: Iterable[ItemDefined]) -> Goods:
    """Make items known; the last of a reference counts."""
    known = {item.item: item for item in items}
    gtins: defaultdict[str, tuple[str, ...]] = defaultdict(tuple)
    part_numbers: defaultdict[str, tuple[str, ...]] = defaultdict(tuple)
    for ref, item in known.items():
        if item.gtin:
            gtins[_long(item.gtin)] += (ref,)
        if item.part_number:
            part_numbers[item.part_number] += (ref,)
    return Goods(known, dict(gtins), dict(part_numbers))


def defined(ref: str, goods: Goods) -> ItemDefined:
    """Give an item by its reference. FieldError for one that nobody defined."""
    if ref not in goods.items:
        raise FieldError("item", f"{ref} is no item that is defined here")
    return goods.items[ref]


def match(told: Item, goods: Goods) -> ItemDefined:
    """Find the item that goods are. FieldError, with its field in them, where none is or another number disagrees."""
    gtins = goods.by_gtin.get(_long(told.gtin), ()) if told.gtin else ()
    numbers = goods.by_part_number.get(told.part_number, ()) if told.part_number else ()
    item = defined(told.item, goods) if told.item else _only(gtins, numbers, told, goods)
    if told.gtin and item.gtin and _long(told.gtin) != _long(item.gtin):
        raise FieldError("gtin", f"is not that of {item.item}: these are other goods, or another package of them")
    for field, refs in (("gtin", gtins), ("part_number", numbers)):
        if refs and item.item not in refs:
            raise FieldError(field, f"is that of {', '.join(refs)}, and not of {item.item}")
    return item


def _only(gtins: tuple[str, ...], numbers: tuple[str, ...], told: Item, goods: Goods) -> ItemDefined:
    """Give the only item of a GTIN, else of a part number."""
    field, refs = ("gtin", gtins) if gtins else ("part_number", numbers)
    if len(refs) > 1:
        raise FieldError(field, f"is that of several items ({', '.join(refs)}): send our reference")
    if not refs:
        field = "gtin" if told.gtin else "part_number" if told.part_number else "item"
        raise FieldError(field, "no item that is defined here has it: send our reference")
    return goods.items[refs[0]]


def told_of(item: ItemDefined) -> Item:
    """Tell an item in the words of documents."""
    return Item(name=item.name, item=item.item, part_number=item.part_number, gtin=item.gtin)


def code_of(unit: str) -> str:
    """Give a unit as documents write it: a code as it is, and a word for a single piece as its code."""
    return ONE if unit_wrong(unit) and unit_of(unit) == ONE else unit


def counted_in(measure: Measure, item: ItemDefined, ordered: str | None = None) -> str:
    """Give the unit that a quantity is recorded in: the item's, or that of the order. FieldError for any other."""
    for unit in (item.unit, ordered):
        if unit is not None and is_alike(measure.unit, unit):
            return unit
    raise FieldError("unit", f"{measure.unit} is not the {item.unit} that {item.item} is counted in")


def _long(gtin: str) -> str:
    return gtin.zfill(14)
