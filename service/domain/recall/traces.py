"""Traces: what an event leaves in the index, so that the units a recall may reach are found without folding any.

    part:ITEM:PLACE ["lot","serial","expiry"]           a part came into the unit, or was said to sit there
    out::PLACE ["lot","serial"]                          a part was taken out, of what item was not said
    unit:MODEL:PLACE ["serial","made on","acquired on"]  a unit was registered
    bare:MODEL:["position"]                              with parts in these positions, and nothing said of others
    stock:ITEM:PLACE                                     stock of a lot came, went or was counted

PLACE is where the lot or the serial stands in the order of labels (`label.sorting`) and a tab, so that what a criterion
names lies together; it is the tab alone where none was stated. A recall may reach the units whose events left a trace
that its criteria match: more than it bears on in the end, and never fewer. In a position that no registration tells of
anything may sit that a model lists for it which the unit was registered as (`listing`). So what a criterion says of the
model is held against no trace of a part, nor of a position: the unit may be another one, too.
"""

from collections.abc import Callable, Collection, Iterable, Iterator, Mapping
from datetime import date
from typing import Final

import msgspec
from msgspec.structs import replace

from service.domain.event import Event, StockEvent
from service.domain.kinds.recall_opened import Criterion
from service.domain.kinds.registered import Registered
from service.domain.label import reach, sorting
from service.domain.part import Part
from service.domain.parts_told import parts_of, removed_by, taken_out
from service.domain.recall.matching import (
    match_part,
    match_unit,
    match_unstated,
    names_lots,
    names_serials,
    speaks_of_parts,
)
from service.domain.rulebook import Rulebook

MOST_POSITIONS = 12
"""A registration with more parts leaves a trace as if it told of none: an entry of an index has its bounds."""
TAB = "\t"
"""Ends a place: it sorts before whatever a label is made of, and JSON never writes it."""
BEHIND = "\n"
"""Follows every trace at a place: it sorts right after the tab."""
OF_PIECES = ("lot", "lots", "lot_from", "lot_to", "serials", "serial_from", "serial_to", "expires_from", "expires_to")
"""What of a criterion tells one part of an item from another."""

Listed = Mapping[str, Mapping[str, frozenset[str]]]
"""By model and position the items that any version of the model lists there; of one that has none left, listed."""
Stretch = tuple[tuple[str, ...], str, str | None]
"""Traces that begin in any of some ways, each of which ends with a colon, and then lie from one place to another.

Both are included, None is no end. The beginnings are kept together: all lots that are named of all items are very many.
"""

_PART = msgspec.json.Decoder(tuple[str | None, str | None, str | None])
_OUT = msgspec.json.Decoder(tuple[str | None, str | None])
_UNIT = msgspec.json.Decoder(tuple[str, date | None, date | None])
_BARE = msgspec.json.Decoder(frozenset[str])


def traces(event: Event) -> Iterator[str]:
    """Give the traces of an event."""
    removed = removed_by(event)
    for part in (*parts_of(event), *(() if removed is None else (removed,))):
        yield f"part:{part.item}:{_place(part.lot)}{TAB}{_text((part.lot, part.serial, part.expires))}"
    out = taken_out(event)
    if out is not None and out.item is None and (out.lot is not None or out.serial is not None):
        yield f"out::{_place(out.lot)}{TAB}{_text((out.lot, out.serial))}"
    if isinstance(event, Registered):
        positions = sorted({placed.position for placed in event.parts})
        said = _text((event.serial, event.made_on, event.acquired_on))
        yield f"unit:{event.model}:{_place(event.serial)}{TAB}{said}"
        yield f"bare:{event.model}:{_text(positions if len(positions) <= MOST_POSITIONS else [])}"
    if isinstance(event, StockEvent):
        yield f"stock:{event.item}:{_place(event.lot)}{TAB}"


def _place(label: str | None) -> str:
    return "" if label is None else sorting(label)


def _text(said: object) -> str:
    return msgspec.json.encode(said).decode()


def listed(rulebook: Rulebook) -> Listed:
    """Give what may sit where by the models known."""
    found: dict[str, dict[str, frozenset[str]]] = {}
    for version in rulebook.listings():
        positions = found.setdefault(version.model, {})
        for known in version.positions:
            positions[known.position] = positions.get(known.position, frozenset()) | frozenset(known.items)
    return found


def stretches(criteria: Iterable[Criterion], models: Collection[str], items: Collection[str]) -> set[Stretch]:
    """Give where the traces lie of parts and units that criteria may match.

    Of a criterion without a model or an item they lie at these models, or items.
    """
    found: set[Stretch] = set()
    for criterion in criteria:
        if speaks_of_parts(criterion):
            found |= lots_of(criterion, "part", items)
            if _tells_pieces_apart(criterion):
                found |= lots_of(replace(criterion, item=None), "out", [""])
            continue
        beginnings = tuple(f"unit:{model}:" for model in (models if criterion.model is None else [criterion.model]))
        named = reach(criterion.serials, criterion.serial_from, criterion.serial_to)
        reaches = named if names_serials(criterion) else [("", None)]
        found |= {(beginnings, first, last) for first, last in reaches}
    return found


def _tells_pieces_apart(criterion: Criterion) -> bool:
    """Say whether a criterion is of parts and gives more than an item, which was told as the part was put in."""
    return speaks_of_parts(criterion) and any(getattr(criterion, name) for name in OF_PIECES)


def lots_of(criterion: Criterion, sort: str, items: Collection[str]) -> set[Stretch]:
    """Give where the traces lie of the lots that a criterion of parts may match, unknown ones among them."""
    reaches = reach([*_named(criterion)], criterion.lot_from, criterion.lot_to)
    where = [("", ""), *reaches] if names_lots(criterion) else [("", None)]
    beginnings = tuple(f"{sort}:{item}:" for item in (items if criterion.item is None else [criterion.item]))
    return {(beginnings, first, last) for first, last in where}


def lot_of(sort: str, item: str, lot: str) -> Stretch:
    """Give where the traces lie of one lot of an item."""
    return (f"{sort}:{item}:",), sorting(lot), sorting(lot)


def units_numbered(model: str, first: str, last: str | None) -> tuple[str, str]:
    """Give from where to where the traces lie of units of a model with serial numbers from one place to another."""
    beginning = f"unit:{model}"
    return f"{beginning}:{first}{TAB}", f"{beginning};" if last is None else f"{beginning}:{last}{BEHIND}"


def _named(criterion: Criterion) -> Iterator[str]:
    yield from criterion.lots if criterion.lot is None else [criterion.lot]


def bare(criteria: Iterable[Criterion], models: Listed) -> set[str]:
    """Give the models of units in which the criteria may speak of what nothing was said of."""
    return {
        model
        for criterion in criteria
        if speaks_of_parts(criterion)
        for model, positions in models.items()
        if any(_may_hold(criterion, model, items) for items in positions.values())
    }


def matched(criteria: Iterable[Criterion], trace: str, models: Listed) -> bool:
    """Say whether any of the criteria may speak of what left a trace of a part or a unit: it is read once for all."""
    sort, ref, rest = trace.split(":", 2)
    return _MATCHED[sort](criteria, ref, rest.rpartition(TAB)[2], models)


def is_trace(subject: str) -> bool:
    """Say whether what an event is filed under is a trace of a part or a unit."""
    return subject.partition(":")[0] in _MATCHED


def _part_matched(criteria: Iterable[Criterion], item: str, said: str, _models: Listed) -> bool:
    """Say whether a criterion may speak of a part: of the model of its unit nothing is traced."""
    lot, serial, expires = _PART.decode(said)
    part = Part(item=item, lot=lot, serial=serial, expires=expires, condition="new")
    of_parts = (one for one in criteria if speaks_of_parts(one))
    return any(match_part(one, one.model or "", part) is not False for one in of_parts)


def _out_matched(criteria: Iterable[Criterion], _item: str, said: str, _models: Listed) -> bool:
    """Say whether a criterion may speak of a part that was taken out: its item only the unit's fold knows."""
    lot, serial = _OUT.decode(said)
    part = Part(item="", lot=lot, serial=serial, condition="refitted")
    of_parts = (replace(one, item=None) for one in criteria if _tells_pieces_apart(one))
    return any(match_part(one, one.model or "", part) is not False for one in of_parts)


def _unit_matched(criteria: Iterable[Criterion], model: str, said: str, _models: Listed) -> bool:
    """Say whether a criterion may speak of a unit as it was registered."""
    serial, made_on, acquired_on = _UNIT.decode(said)
    of_units = (one for one in criteria if not speaks_of_parts(one))
    return any(match_unit(one, model, serial, made_on, acquired_on) is not False for one in of_units)


def _bare_matched(criteria: Iterable[Criterion], model: str, said: str, models: Listed) -> bool:
    """Say whether a criterion may speak of a part that was not told of."""
    told = _BARE.decode(said)
    untold = [items for position, items in models.get(model, {}).items() if position not in told]
    of_parts = (one for one in criteria if speaks_of_parts(one))
    return any(_may_hold(one, model, items) for one in of_parts for items in untold)


_MATCHED: Final[Mapping[str, Callable[[Iterable[Criterion], str, str, Listed], bool]]] = {
    "part": _part_matched,
    "out": _out_matched,
    "unit": _unit_matched,
    "bare": _bare_matched,
}


def _may_hold(criterion: Criterion, model: str, items: Collection[str]) -> bool:
    """Say whether a criterion may speak of what a model lists for a position: of the unit, or as another model's."""
    return match_unstated(criterion, criterion.model or model, items) is not False
