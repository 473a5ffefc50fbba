"""What the records cannot tell of a recall, counted by its sort."""

from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from functools import partial
from itertools import chain
from typing import Final

import msgspec

from service.assessing.moment import Question
from service.assessing.recall_reached import Impact, Reached
from service.domain.kinds.recall_opened import Criterion
from service.domain.label import reach, sorting
from service.domain.recall.followed import Piece
from service.domain.recall.impact import Sitting
from service.domain.recall.matching import names_serials, speaks_of_parts
from service.domain.recall.traces import listed, units_numbered
from service.domain.recall.unknown import SAYS, Unknown
from service.domain.recall.unmeetable import unmeetable
from service.recording.filing import PART_SERIAL
from service.store.numbers_filed import numbers_filed
from service.store.refs_traced import refs_traced

Where = Callable[[str, str | None], Iterable[tuple[str, str]]]
"""Gives from where to where it is filed what is numbered from one place to another."""
Numbers = tuple[int, str, str | None]
"""A criterion by its place, and from which of its serial numbers to which, as they are compared."""
MOST: Final = 10_000
"""How many places are looked up: a search of an index each."""
BEHIND: Final = f"{PART_SERIAL[:-1]};"
"""Follows everything that is filed under a serial number of a part."""


class NotKnown(msgspec.Struct, frozen=True):
    """A sort of what is not known, how many units or quantities of stock it is of, and what that means."""

    code: Unknown
    count: int
    says: str


def unknown(impact: Impact) -> list[NotKnown]:
    """Count what is not known."""
    found = Counter(chain.from_iterable([set(_of_unit(unit)) for unit in impact.units]))
    found["stock-without-lot"] = sum(not one.certain for one in impact.stock) - len(impact.arriving)
    found["day-not-over"] += len(impact.arriving)
    found["not-registered-yet"] = len(impact.expected)
    found["in-one-of-two"] = len(impact.doubtful)
    found["part-taken-out"] = _gone(impact.units)
    return [NotKnown(sort, found[sort], says) for sort, says in SAYS.items() if found[sort]]


async def numbered_otherwise(question: Question, impact: Impact) -> dict[Unknown, int]:
    """Count the criteria with serial numbers of something else than they speak of, which is not looked for.

    None are told to who is bound to sites, since it may be elsewhere. Of very many the first are looked up, fewer of
    units of many models, and it is said that there are others.
    """
    criteria = [*dict.fromkeys(filter(names_serials, _criteria(impact)))] if question.reach is None else []
    named = ((nth, reach(one.serials, one.serial_from, one.serial_to)) for nth, one in enumerate(criteria))
    every = [(nth, *number) for nth, numbers in named for number in numbers]
    if not every:
        return {}
    speaking = [speaks_of_parts(one) for one in criteria]
    of_parts = await _filed(question, every[:MOST], _parts)
    amiss = [one for one in every[:MOST] if speaking[one[0]] and one not in of_parts]
    models = await refs_traced(question.conn, question.organisation, "unit") if amiss else ()
    most = MOST // max(1, len(models))
    of_units = await _filed(question, amiss[:most], partial(_units, models))
    return {
        "parts-so-numbered": len({nth for nth, *_ in of_parts if not speaking[nth]}),
        "units-so-numbered": len({nth for nth, *_ in of_units}),
        "numbers-not-looked-up": len({nth for nth, *_ in (*every[MOST:], *amiss[most:])}),
    }


async def _filed(question: Question, numbers: Sequence[Numbers], where: Where) -> set[Numbers]:
    """Give the numbers under which something is filed there."""
    stretches = [(nth, *place) for nth, (_, first, last) in enumerate(numbers) for place in where(first, last)]
    found = await numbers_filed(question.conn, question.organisation, stretches, question.judged_to)
    return {numbers[nth] for nth in found}


def _parts(first: str, last: str | None) -> Iterator[tuple[str, str]]:
    yield f"{PART_SERIAL}{first}", BEHIND if last is None else f"{PART_SERIAL}{last}"


def _units(models: Iterable[str], first: str, last: str | None) -> Iterator[tuple[str, str]]:
    return (units_numbered(model, first, last) for model in models)


def _criteria(impact: Impact) -> list[Criterion]:
    return [criterion for opening in impact.openings for criterion in opening.criteria]


def undefined(question: Question, impact: Impact, numbered: Mapping[Unknown, int]) -> list[NotKnown]:
    """Count the models and items that the criteria name and nobody has said anything of, and what nothing can meet.

    An item that a model lists, or of which something was found, needs no definition. `numbered` are criteria with
    serial numbers of something else.
    """
    criteria = _criteria(impact)
    rulebook, at = question.world.rulebook, question.as_at
    models = {one.model for one in criteria if rulebook.model(one.model, at) is None} - {None}
    items = {one.item for one in criteria if rulebook.item(one.item, at) is None} - {None}
    if items:
        items.difference_update(one.item for one in impact.stock)
        items.difference_update(*(positions for model in listed(rulebook).values() for positions in model.values()))
        items.difference_update(sitting.item for one in impact.units for sitting in one.touched.sittings)
    counted: dict[Unknown, int] = {
        "not-defined": len(models) + len(items),
        "criterion-unmeetable": sum(map(unmeetable, criteria)),
        **numbered,
    }
    return [NotKnown(sort, count, SAYS[sort]) for sort, count in counted.items() if count]


def uncertain_parts(unit: Reached) -> bool:
    """Say whether a part that is under the recall may be another."""
    return any(sitting.state == "affected" and not sitting.certain for sitting in unit.touched.sittings)


def _gone(units: Iterable[Reached]) -> int:
    """Count the units from which a part was taken out that sits in none that is known of."""
    told = [(one.unit, one.touched.sittings) for one in units]
    there = {_piece(one.item, one.serial) for _, sat in told for one in sat if one.until is None} - {None}
    there |= {("", sorting(unit.serial)) for unit, _ in told if unit.fitted_to is not None}  # a component is of no item
    gone = [[one for one in sat if one.state == "removed" and one.item is not None] for _, sat in told]
    return sum(any(there.isdisjoint(_known_as(one)) for one in taken_out) for taken_out in gone if taken_out)


def _known_as(one: Sitting) -> set[Piece | None]:
    """Give the piece that it is, and the component that it may be."""
    return {_piece(one.item, one.serial), _piece("", one.serial)}


def _piece(item: str | None, serial: str | None) -> Piece | None:
    return None if item is None or serial is None else (item, sorting(serial))


def _of_unit(unit: Reached) -> Iterator[Unknown]:
    if unit.awaited:
        yield "day-not-over"
    for sitting in unit.touched.stated:
        if sitting.state == "affected" and not sitting.certain:
            yield "part-not-named" if sitting.item else "nothing-said" if sitting.position else "unit-not-dated"
    if unit.outstanding and unit.located_at is None:
        yield "not-located"
    if None in [hand.holder.person for hand in unit.touched.hands]:
        yield "holder-not-a-person"
    if unit.touched.endless:
        yield "wearing-without-end"
