"""What the records cannot tell of a recall, counted by its sort."""

from collections import Counter
from collections.abc import Iterable, Iterator
from itertools import chain

import msgspec

from service.assessing.moment import Question
from service.assessing.recall_reached import Impact, Reached
from service.domain.label import sorting
from service.domain.recall.followed import Piece
from service.domain.recall.impact import Sitting
from service.domain.recall.traces import listed
from service.domain.recall.unknown import SAYS, Unknown
from service.domain.recall.unmeetable import unmeetable


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


def undefined(question: Question, impact: Impact) -> list[NotKnown]:
    """Count the models and items that the criteria name and nobody has said anything of, and what nothing can meet.

    An item that a model lists, or of which something was found, needs no definition.
    """
    criteria = [criterion for opening in impact.openings for criterion in opening.criteria]
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
