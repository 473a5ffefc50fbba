"""Traces: what an event leaves in the index, so that the units a recall may reach are found without folding any.

    part:ITEM:["lot","serial","expiry"]                          a part came into the unit, or was found to sit there
    unit:MODEL:["serial","made on","acquired on",["position"]]   a unit was registered, with parts in these positions

A recall may reach the units whose events left a trace that its criteria match: more than it bears on in the end, and
never fewer. In a position that no registration tells of anything the model lists for it may sit.
"""

from collections.abc import Iterable, Iterator, Mapping
from datetime import date

import msgspec

from service.domain.event import Event
from service.domain.kinds.recall_opened import Criterion
from service.domain.kinds.registered import Registered
from service.domain.part import Part
from service.domain.parts_told import parts_of
from service.domain.recall.matching import match_part, match_unit, match_unstated, speaks_of_parts
from service.domain.rulebook import Rulebook

MOST_POSITIONS = 12
"""A registration with more parts leaves a trace as if it told of none: an entry of an index has its bounds."""

Listed = Mapping[str, Mapping[str, frozenset[str]]]
"""By model and position the items that any version of the model lists there."""

_PART = msgspec.json.Decoder(tuple[str | None, str | None, str | None])
_UNIT = msgspec.json.Decoder(tuple[str, date | None, date | None, frozenset[str]])


def traces(event: Event) -> Iterator[str]:
    """Give the traces of an event."""
    for part in parts_of(event):
        yield f"part:{part.item}:{_text((part.lot, part.serial, part.expires))}"
    if isinstance(event, Registered):
        positions = sorted({placed.position for placed in event.parts})
        told = positions if len(positions) <= MOST_POSITIONS else []
        yield f"unit:{event.model}:{_text((event.serial, event.made_on, event.acquired_on, told))}"


def _text(said: object) -> str:
    return msgspec.json.encode(said).decode()


def listed(rulebook: Rulebook) -> Listed:
    """Give what may sit where by the models known."""
    found: dict[str, dict[str, frozenset[str]]] = {}
    for timeline in rulebook.models.timelines.values():
        for version in timeline.ranked:
            positions = found.setdefault(version.event.model, {})
            for known in version.event.positions:
                positions[known.position] = positions.get(known.position, frozenset()) | frozenset(known.items)
    return found


def beginnings(criteria: Iterable[Criterion], models: Listed) -> set[str]:
    """Give how the traces begin that criteria may match."""
    found: set[str] = set()
    for criterion in criteria:
        if not speaks_of_parts(criterion):
            found.add("unit:" if criterion.model is None else f"unit:{criterion.model}:")
            continue
        found.add("part:" if criterion.item is None else f"part:{criterion.item}:")
        for model, positions in models.items():
            if any(match_unstated(criterion, model, items) is not False for items in positions.values()):
                found.add(f"unit:{model}:")
    return found


def matched(criteria: Iterable[Criterion], trace: str, models: Listed) -> bool:
    """Say whether any of the criteria may speak of what left a trace."""
    sort, ref, said = trace.split(":", 2)
    matching = _part_matched if sort == "part" else _unit_matched
    return any(matching(criterion, ref, said, models) for criterion in criteria)


def _part_matched(criterion: Criterion, item: str, said: str, _models: Listed) -> bool:
    """Say whether a criterion may speak of a part: of the model of its unit nothing is traced."""
    if not speaks_of_parts(criterion):
        return False
    lot, serial, expires = _PART.decode(said)
    part = Part(item=item, lot=lot, serial=serial, expires=expires, condition="new")
    return match_part(criterion, criterion.model or "", part) is not False


def _unit_matched(criterion: Criterion, model: str, said: str, models: Listed) -> bool:
    """Say whether a criterion may speak of a unit as it was registered, or of a part that was not told of."""
    serial, made_on, acquired_on, told = _UNIT.decode(said)
    if not speaks_of_parts(criterion):
        return match_unit(criterion, model, serial, made_on, acquired_on) is not False
    untold = (items for position, items in models.get(model, {}).items() if position not in told)
    return any(match_unstated(criterion, model, items) is not False for items in untold)
