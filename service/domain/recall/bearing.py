"""Bearing: which recalls bear on a unit as it is, part by part (design 4, R25, R34).

A remedy must be later than the opening it answers (R3), and clears only what was fitted then. One that states its day
alone clears what was in as that day began:

- `fixed` clears the part that was in a position, until another is put in; to learn later what it was changes nothing.
- `not-affected` clears it until another is put in, or it turns out to be another than was known.
- A unit of which a recall itself speaks is cleared by either for good.

A part that is known to lie outside the criteria is under no recall, whoever said it (`part-identified`, a swap, a
repair, the registration). `scrapped` clears nothing: the part, or the unit, has to go.
"""

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from datetime import datetime
from itertools import product

from service.domain.kinds.recall_opened import Criterion
from service.domain.part import Part
from service.domain.recall.listing import Listing
from service.domain.recall.matching import (
    Match,
    any_of,
    match_part,
    match_unit,
    match_unstated,
    of_models,
    speaks_of_parts,
)
from service.domain.recall.opening import Opening, Openings
from service.domain.unit import Fitted, Remedy, Unit

Spot = str | None
"""What of a unit is meant: the name of a position, or None for the unit itself."""


def bearing(unit: Unit, listing: Listing, openings: Openings) -> tuple[Opening, ...]:
    """Give the openings, at whatever moment, that a unit as it is comes under."""
    return tuple(opening for opening in _near(unit, listing, openings) if any(reached(unit, listing, opening)))


def speaking(unit: Unit, listing: Listing, openings: Openings) -> Iterator[Opening]:
    """Give the openings, at whatever moment, that speak of a unit as it is, whatever was done about it."""
    for opening in _near(unit, listing, openings):
        spots = (spot for spot, match in matches(unit, listing, opening).items() if match is not False)
        if any(_in_time(unit, spot, opening) for spot in spots):
            yield opening


def _near(unit: Unit, listing: Listing, openings: Openings) -> tuple[Opening, ...]:
    """Give the openings that could speak of a unit, of which some do."""
    items = {fitted.part.item for fitted in unit.parts.values() if fitted.part is not None}
    items.update(*unstated(unit, listing).values())
    return openings.about(unit.models, frozenset(items))


def unstated(unit: Unit, listing: Listing) -> Listing:
    """Give the positions of a unit of which nothing was ever said, each with the items that may sit there."""
    return {position: items for position, items in listing.items() if position not in unit.parts}


def reached(unit: Unit, listing: Listing, opening: Opening) -> Iterator[tuple[Spot, Match]]:
    """Give the positions of a unit, or the unit itself, that an opening reaches and nothing has cleared.

    Each with its match: True, or None where it is not known. An opening that a release on its voiding left out of
    account reaches nothing there.
    """
    for spot, match in matches(unit, listing, opening).items():
        if match is not False and stands(unit, spot, opening):
            yield spot, match


def stands(unit: Unit, spot: Spot, opening: Opening) -> bool:
    """Say whether an opening that speaks of what is meant reaches it still: nothing has cleared or forgiven it."""
    if opening.event in unit.forgiven:
        return False
    if opening.backs and (_examined_since_voided(unit, opening) or not _in_time(unit, spot, opening)):
        return False
    return cleared_at(unit, spot, opening) is None


def matches(unit: Unit, listing: Listing, opening: Opening) -> Mapping[Spot, Match]:
    """Say of each position of a unit, and of the unit itself, whether the criteria of an opening speak of it."""
    of_parts = [criterion for criterion in opening.criteria if speaks_of_parts(criterion)]
    of_units = [criterion for criterion in opening.criteria if not speaks_of_parts(criterion)]
    found: dict[Spot, Match] = {}
    for position, fitted in unit.parts.items():
        if fitted.part is not None:
            found[position] = any_of(part_match(unit.models, criterion, fitted.part) for criterion in of_parts)
    for position, items in unstated(unit, listing).items():
        found[position] = any_of(unstated_match(unit.models, criterion, items) for criterion in of_parts)
    found[None] = any_of(unit_match(unit, criterion) for criterion in of_units)
    return found


def part_match(models: Sequence[str], criterion: Criterion, part: Part) -> Match:
    """Say whether a criterion of parts speaks of a part in a unit that is of the first of some models."""
    return of_models(models, lambda model: match_part(criterion, model, part))


def unstated_match(models: Sequence[str], criterion: Criterion, items: Collection[str]) -> Match:
    """Say whether a criterion of parts may speak of what sits in a position of such a unit for which items are listed.

    Of the position nothing was said.
    """
    return of_models(models, lambda model: match_unstated(criterion, model, items))


def unit_match(unit: Unit, criterion: Criterion) -> Match:
    """Say whether a criterion of units speaks of a unit, as it was last registered or, never known, as before."""
    now = match_unit(criterion, unit.model, unit.serial, unit.made_on, unit.acquired_on)
    if now is not False or not unit.several:
        return now
    days = ((unit.made_on, *unit.made_once), (unit.acquired_on, *unit.acquired_once))
    every = product(unit.models, [unit.serial], *days)
    return None if any(match_unit(criterion, *one) is not False for one in every) else False


def _examined_since_voided(unit: Unit, opening: Opening) -> bool:
    """Say whether a passing examination came after an opening and its voiding: then it bears on the unit no more."""
    until = opening.until
    return until is not None and unit.examined is not None and unit.examined.at > max(until, opening.at)


def _in_time(unit: Unit, spot: Spot, opening: Opening) -> bool:
    """Say whether what is meant came in before the opening was voided; what was there all along came with the unit."""
    return opening.until is None or (put_in(unit, spot) or unit.registered_at) <= opening.until


def cleared_at(unit: Unit, spot: Spot, opening: Opening) -> datetime | None:
    """Give the moment of the last remedy, later than the opening, that cleared what is meant; None where none did."""
    fixed, unaffected = unit.fixed.get(opening.recall, ()), unit.not_affected.get(opening.recall, ())
    if not fixed and not unaffected:
        return None
    clearing = [
        *_clearing(fixed, opening, put_in(unit, spot)),
        *_clearing(unaffected, opening, _named_at(unit, spot)),
    ]
    return max((one.at for one in clearing), default=None)


def _clearing(remedies: Iterable[Remedy], opening: Opening, since: datetime | None) -> Iterator[Remedy]:
    return (one for one in remedies if one.at > opening.at and (since is None or one.by >= since))


def put_in(unit: Unit, spot: Spot) -> datetime | None:
    """Give the moment something was put into a unit; None for what was there all along."""
    fitted = _fitted(unit, spot)
    return None if fitted is None or fitted.was_there else fitted.at


def _named_at(unit: Unit, spot: Spot) -> datetime | None:
    """Give the moment since which it is known to be what it is; None for what nothing was said of."""
    fitted = _fitted(unit, spot)
    return None if fitted is None else fitted.named_at or fitted.at


def _fitted(unit: Unit, spot: Spot) -> Fitted | None:
    return None if spot is None else unit.parts.get(spot)
