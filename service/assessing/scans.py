"""Scans: what each of them says, and what of the firm's it is. Nothing is recorded."""

from collections.abc import Iterable, Iterator
from typing import Any
from uuid import UUID

import msgspec

from service.assessing.catalogue import Catalogue
from service.assessing.moment import Question
from service.assessing.spare_stock import Lot, items_in_stock, stock_of_lots
from service.assessing.things import Fits, Match, Sites, by_lot, by_part_serial, by_serial, by_tag
from service.domain.kinds.item_defined import ItemDefined
from service.domain.label import normal, sorting
from service.domain.recall.spare import Spare
from service.domain.scan.label import TAG
from service.domain.scan.read import read
from service.domain.scan.reading import Reading
from service.domain.words import Label
from service.reference.data_identifiers import PARTS

SHOWN = 50
"""Units, items and lines of stock that a scan is told to be, at most."""


class Things(msgspec.Struct, frozen=True):
    """What a scan is: items, units, and whether there may be more units."""

    items: list[ItemDefined]
    matches: list[Match]
    more: bool = False


async def interpret(question: Question, sites: Sites, scans: tuple[str, ...]) -> list[dict[str, Any]]:
    """Tell of each scan what it says and what it is, of the things at these sites, in the order they came."""
    catalogue = Catalogue.of(question)
    readings = [read(scan, question.as_at.date(), question.organisation) for scan in scans]
    stocks = await _stocks(question, sites, catalogue, readings)
    told = []
    for place, (reading, stock) in enumerate(zip(readings, stocks, strict=True)):
        sound = (one for one in reading.meanings if not one.faults)
        things = [await _things(question, sites, catalogue, one) for one in sound]
        told.append(_told(reading, _together(things), stock, f"#/scans/{place}"))
    return told


async def _stocks(question: Question, sites: Sites, catalogue: Catalogue, readings: list[Reading]) -> list[list[Spare]]:
    """Give the spare stock of the lot that each reading says, or may say; all of it is looked for at once."""
    items = await items_in_stock(question)
    wanted = [[lot for one in reading.meanings for lot in _lots(catalogue, one, items)] for reading in readings]
    lots = {lot for some in wanted for lot in some}
    found = await stock_of_lots(question, sites, lots) if lots else []
    places = [{(item, sorting(lot)) for item, lot in some} for some in wanted]
    return [[one for one in found if (one.item, sorting(one.lot or "")) in some] for some in places]


def _lots(catalogue: Catalogue, reading: Reading, items: list[str]) -> list[Lot]:
    lot = _label(reading.lot or reading.text)
    if reading.faults or lot is None:
        return []
    fits = _fits(catalogue, reading)
    return [(item, lot) for item in items if fits(item)]


async def _things(question: Question, sites: Sites, catalogue: Catalogue, reading: Reading) -> Things:
    """Find what a reading is: first the unit that its tag means, then those with its serial, then those with the part.

    A text that does not say what it is may be any of them.
    """
    text, tag = _label(reading.text), reading.tag or _label(reading.text)
    serial, lot = _label(reading.serial) or text, _label(reading.lot) or text
    matches = await by_tag(question, sites, tag) if tag is not None and TAG.match(tag) else []
    more, fits = False, _fits(catalogue, reading)
    if serial is not None:
        matches += await by_serial(question, sites, catalogue.models, serial)
        looked = await by_part_serial(question, sites, fits, serial)
        matches, more = [*matches, *looked.matches], looked.more
    if lot is not None:
        looked = await by_lot(question, sites, fits, lot, reading.serial)
        matches, more = [*matches, *looked.matches], more or looked.more
    return Things(_items(catalogue, reading, text), matches, more)


def _together(every: list[Things]) -> Things:
    """Give what a scan is by any of its meanings: each item, unit and position once."""
    items = {item.item: item for things in every for item in things.items}
    matches = _once(match for things in every for match in things.matches)
    return Things(list(items.values()), list(matches), any(things.more for things in every))


def _any(_item: str) -> bool:
    return True


def _fits(catalogue: Catalogue, reading: Reading) -> Fits:
    """Say which items a part may be of: those with the number that was read, and those of which none is known."""
    if reading.gtin is None and reading.part_number is None:
        return _any
    right = {one.item for one in _items(catalogue, reading, None)}
    numbered = catalogue.with_any_gtin if reading.gtin is not None else catalogue.with_any_part_number
    return lambda item: item in right or item not in numbered


def _items(catalogue: Catalogue, reading: Reading, text: str | None) -> list[ItemDefined]:
    """Give the items that a reading names: by GTIN, by the maker's number and by the firm's own, or as it stands."""
    if reading.gtin is not None:
        return catalogue.with_gtin(reading.gtin)
    if reading.part_number is not None:
        numbers = (one.value for one in reading.elements if one.identifier in PARTS)
        return list({one.item: one for number in numbers for one in catalogue.called(number)}.values())
    return catalogue.called(text) if text is not None else []


def _label(text: str | None) -> str | None:
    """Give a text that something of the firm's may be called; None for one that is too long, or says nothing."""
    try:
        return text if text is not None and normal(msgspec.convert(text, Label)) else None
    except msgspec.ValidationError:
        return None


def _once(matches: Iterable[Match]) -> Iterator[Match]:
    """Give each unit and position once, by what was found first."""
    seen: set[tuple[UUID, str | None]] = set()
    for match in matches:
        if (match.unit.unit, match.position) not in seen:
            seen.add((match.unit.unit, match.position))
            yield match


def _told(reading: Reading, things: Things, stock: list[Spare], pointer: str) -> dict[str, Any]:
    return {
        "form": reading.form,
        "gtin": reading.gtin,
        "part_number": reading.part_number,
        "lot": reading.lot,
        "serial": reading.serial,
        "expires": reading.expires,
        "elements": [
            {"identifier": one.identifier, "title": one.title, "value": one.value, "day": one.day}
            for one in reading.elements
        ],
        "item": things.items[0].item if len(things.items) == 1 else None,
        "items": [_item(one) for one in things.items[:SHOWN]],
        "assets": [_asset(match) for match in things.matches[:SHOWN]],
        "stock": [_stock(one) for one in stock[:SHOWN]],
        "more": things.more or max(len(things.matches), len(things.items), len(stock)) > SHOWN,
        "errors": [{"detail": detail, "pointer": pointer} for detail in reading.faults],
    }


def _item(item: ItemDefined) -> dict[str, object]:
    return {"item": item.item, "name": item.name, "gtin": item.gtin, "part_number": item.part_number}


def _asset(match: Match) -> dict[str, object]:
    part, now = match.part, match.now
    return {
        "matched": match.matched,
        "tag": match.unit.tag,
        "model": now.model,
        "serial": match.unit.serial,
        "site": now.site,
        "phase": now.phase,
        "standing": now.standing,
        "do_not_use": now.do_not_use,
        "reasons": now.reasons,
        "position": match.position,
        "part": part and {"item": part.item, "lot": part.lot, "serial": part.serial, "expires": part.expires},
    }


def _stock(spare: Spare) -> dict[str, object]:
    told = ("site", "item", "lot", "expires", "quantity", "unit")
    return {name: getattr(spare, name) for name in told}
