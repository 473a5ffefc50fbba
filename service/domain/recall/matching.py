"""Matching: whether a criterion of a recall speaks of a part or of a unit (R34).

The answer is True, False, or None where a value that decides is not on record: that counts as affected, and is told
apart so that it can be said what cannot be known. All values of one criterion must match.

**What the values speak of.** A criterion that gives an item, a lot or an expiry speaks of parts that are fitted. Then
`model` is that of the unit a part is fitted in, and `serials` are the part's own; when a part was made or received is
on no record, so those dates are never known to match nor not to. Any other criterion speaks of units: their model,
serial, day of manufacture and day of acquisition (`received_*`). A component with a tag of its own is a unit. Receipts
of stock are not joined: which of them a part came from is not told. A unit that was registered as another model before
may be that (`of_models`), and so may one that was registered with another day (`bearing.py`): which registration is
wrong nobody says.

**What is not known.** A part whose lot, serial or expiry was never stated may be any. A position of which nothing was
ever said may hold any item that is listed for it (`listing`), of any lot; one that was emptied holds nothing. A month
as an expiry may be any of its days where it is held against others: the notice and the part may be printed each its own
way.
"""

from collections.abc import Callable, Collection, Iterable, Sequence
from datetime import date

from service.domain.kinds.recall_opened import Criterion
from service.domain.label import is_among, lies_between, same
from service.domain.part import Part
from service.domain.words import expiry_days

Match = bool | None
"""Whether something matches; None where that is not known."""


def speaks_of_parts(criterion: Criterion) -> bool:
    """Say whether a criterion speaks of parts, not of units themselves."""
    return (
        criterion.item is not None
        or names_lots(criterion)
        or criterion.expires_from is not None
        or criterion.expires_to is not None
    )


def may_be_in(criterion: Criterion, models: Collection[str], items: Collection[str]) -> bool:
    """Say whether a criterion could speak of a unit of one of these models, or of one of these items in it."""
    of_model = criterion.model is None or criterion.model in models
    return of_model and (criterion.item is None or criterion.item in items)


def of_models(models: Sequence[str], match: Callable[[str], Match]) -> Match:
    """Give what holds of a unit of the first of some models, which may be any of the others: that is never known."""
    now = match(models[0])
    if now is not False or len(models) == 1:
        return now
    return None if any(match(model) is not False for model in models[1:]) else False


def match_part(criterion: Criterion, model: str, part: Part) -> Match:
    """Say whether a criterion of parts speaks of a part in a unit of a model."""
    if not (_is(part.item, criterion.item) and _is(model, criterion.model)):
        return False
    return _all(
        (
            _lot(criterion, part.lot),
            _serial(criterion, part.serial),
            _expiry(criterion, part.expires),
            *_dates(criterion, None, None),
        )
    )


def match_unstated(criterion: Criterion, model: str, items: Collection[str]) -> Match:
    """Say whether a criterion of parts may speak of what sits in a position of which nothing was said.

    `items` are those that are listed for it.
    """
    listed = criterion.item is None or criterion.item in items
    return None if listed and _is(model, criterion.model) else False


def match_unit(criterion: Criterion, model: str, serial: str, made_on: date | None, acquired_on: date | None) -> Match:
    """Say whether a criterion of units speaks of one."""
    return _all(
        (_is(model, criterion.model), _serial(criterion, serial), *_dates(criterion, made_on, acquired_on)),
    )


def any_of(matches: Iterable[Match]) -> Match:
    """Give what holds if any has to match."""
    found = set(matches)
    return True if True in found else None if None in found else False


def _all(matches: Iterable[Match]) -> Match:
    """Give what holds if all have to match."""
    found = set(matches)
    return False if False in found else None if None in found else True


def _is(found: str, wanted: str | None) -> bool:
    return wanted is None or found == wanted


def names_lots(criterion: Criterion) -> bool:
    """Say whether a criterion says anything of lots."""
    stated = (criterion.lot, criterion.lot_from, criterion.lot_to)
    return bool(criterion.lots) or any(label is not None for label in stated)


def names_serials(criterion: Criterion) -> bool:
    """Say whether a criterion says anything of serial numbers."""
    return bool(criterion.serials) or criterion.serial_from is not None or criterion.serial_to is not None


def names_days(criterion: Criterion) -> bool:
    """Say whether a criterion of units says anything of the days they were made or acquired on."""
    days = (criterion.made_from, criterion.made_to, criterion.received_from, criterion.received_to)
    return not speaks_of_parts(criterion) and any(day is not None for day in days)


def _lot(criterion: Criterion, lot: str | None) -> Match:
    if not names_lots(criterion):
        return True
    if lot is None:
        return None
    return (
        (criterion.lot is None or same(lot, criterion.lot))
        and (not criterion.lots or is_among(lot, criterion.lots))
        and lies_between(lot, criterion.lot_from, criterion.lot_to)
    )


def _serial(criterion: Criterion, serial: str | None) -> Match:
    if not names_serials(criterion):
        return True
    if serial is None:
        return None
    listed = not criterion.serials or is_among(serial, criterion.serials)
    return listed and lies_between(serial, criterion.serial_from, criterion.serial_to)


def _dates(criterion: Criterion, made_on: date | None, received_on: date | None) -> tuple[Match, Match]:
    made = _within(made_on, criterion.made_from, criterion.made_to)
    return made, _within(received_on, criterion.received_from, criterion.received_to)


def _within(day: date | None, first: date | None, last: date | None) -> Match:
    if first is None and last is None:
        return True
    if day is None:
        return None
    return (first is None or day >= first) and (last is None or day <= last)


def _expiry(criterion: Criterion, expiry: str | None) -> Match:
    """Compare an expiry: a month may be any of its days, in a criterion all of them are meant."""
    if criterion.expires_from is None and criterion.expires_to is None:
        return True
    if expiry is None:
        return None
    first, last = expiry_days(expiry)
    least = first if criterion.expires_from is None else expiry_days(criterion.expires_from)[0]
    most = last if criterion.expires_to is None else expiry_days(criterion.expires_to)[1]
    if last < least or first > most:
        return False
    return True if least <= first and last <= most else None
