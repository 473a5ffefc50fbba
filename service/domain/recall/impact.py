"""Impact: what a recall speaks of in one unit: what sits there, what sat there and when, and in whose hands meanwhile.

A part that was named after it was put in counts as what it turned out to be, from its beginning; before anything was
said of a position any item may have sat there that the model lists for it.
"""

from collections.abc import Iterable, Iterator, Sequence
from datetime import datetime
from typing import Literal

import msgspec
from msgspec.structs import replace

from service.domain.holder import Holder
from service.domain.kinds.model_defined import ModelDefined
from service.domain.kinds.recall_opened import Criterion
from service.domain.recall.bearing import Spot, reached
from service.domain.recall.matching import Match, any_of, match_part, match_unit, match_unstated, speaks_of_parts
from service.domain.recall.opening import Opening
from service.domain.stays import Stay
from service.domain.unit import Unit
from service.domain.wearing import Use

State = Literal["affected", "cleared", "removed", "identified"]
"""Whether it is under the recall now, is there but was dealt with, is there no more, or turned out to be another."""


class Sitting(msgspec.Struct, frozen=True):
    """What a recall speaks of: a part in a position, or the unit itself (None), from when to when (None: it goes on).

    `certain` is false where something that decides is not on record. Of what nothing was said `item` is None.
    """

    position: Spot
    since: datetime
    until: datetime | None
    certain: bool
    state: State
    item: str | None = None
    lot: str | None = None
    serial: str | None = None
    expires: str | None = None


class Hand(msgspec.Struct, frozen=True):
    """Who had the unit while it held what the recall speaks of, and for how many seconds in that."""

    holder: Holder
    since: datetime
    until: datetime | None
    seconds: int


class Wearer(msgspec.Struct, frozen=True):
    """Who wore it meanwhile: how often, first and last, and for how many seconds as far as an end was said."""

    person: str
    times: int
    first: datetime
    last: datetime
    seconds: int


class Touched(msgspec.Struct, frozen=True):
    """A unit that a recall speaks of, or once spoke of."""

    sittings: tuple[Sitting, ...]
    hands: tuple[Hand, ...]
    wearers: tuple[Wearer, ...]

    @property
    def affected(self) -> bool:
        """Say whether anything is under the recall now."""
        return any(sitting.state == "affected" for sitting in self.sittings)

    @property
    def certain(self) -> bool:
        """Say whether it is known of anything that is under it now, or of anything that ever was."""
        state = "affected" if self.affected else None
        return any(sitting.certain for sitting in self.sittings if state in {None, sitting.state})

    @property
    def remedied_at(self) -> datetime | None:
        """Give the last moment at which something that the recall spoke of was taken out."""
        return max((sitting.until for sitting in self.sittings if sitting.until is not None), default=None)


class Life(msgspec.Struct, frozen=True):
    """A unit as it is at a moment, with all its stays and uses up to then."""

    unit: Unit
    model: ModelDefined | None
    at: datetime
    stays: tuple[Stay, ...]
    uses: tuple[Use, ...]


def touched(life: Life, openings: Sequence[Opening]) -> Touched | None:
    """Say what the openings of a recall speak of in a unit; None where that is nothing."""
    now = {spot for opening in openings for spot, _ in reached(life.unit, life.model, opening)}
    criteria = [criterion for opening in openings for criterion in opening.criteria]
    sittings = tuple(_sittings(life, criteria, now))
    if not sittings:
        return None
    spans = [(sitting.since, sitting.until or life.at) for sitting in sittings]
    return Touched(sittings, tuple(_hands(life, spans)), tuple(_wearers(life, spans)))


def _sittings(life: Life, criteria: Sequence[Criterion], now: set[Spot]) -> Iterator[Sitting]:
    unit = life.unit
    of_parts = [criterion for criterion in criteria if speaks_of_parts(criterion)]
    of_units = [criterion for criterion in criteria if not speaks_of_parts(criterion)]
    own = (unit.model, unit.serial, unit.made_on, unit.acquired_on)
    whole = any_of(match_unit(criterion, *own) for criterion in of_units)
    if whole is not False:
        yield _sitting(None, unit.registered_at, None, whole, now)
    stated: dict[str, datetime] = {}
    for names in _pieces(life):
        position, begun = names[0].position or "", _begun(names[0], unit)
        stated[position] = min(begun, stated.get(position, begun))
        matches = [any_of(match_part(one, unit.model, stay.part) for one in of_parts) for stay in names if stay.part]
        meant = max((nth for nth, match in enumerate(matches) if match is not False), default=None)
        if meant is not None:
            yield _of_part(names, meant, matches[meant], life, now)
    for known in () if life.model is None else life.model.positions:
        first = stated.get(known.position)
        match = any_of(match_unstated(criterion, unit.model, known.items) for criterion in of_parts)
        emptied = first is None and known.position in unit.parts
        if match is not False and not emptied and (first is None or first > unit.registered_at):
            yield _sitting(known.position, unit.registered_at, first, match, now)


def _sitting(spot: Spot, since: datetime, until: datetime | None, match: Match, now: set[Spot]) -> Sitting:
    state: State = "removed" if until is not None else "affected" if spot in now else "cleared"
    return Sitting(spot, since, until, match is True, state)


def _of_part(names: Sequence[Stay], meant: int, match: Match, life: Life, now: set[Spot]) -> Sitting:
    """Tell of a piece under the last of its names that the recall speaks of."""
    stay, part = names[meant], names[meant].part
    until = None if stay.until > life.at else stay.until
    found = _sitting(stay.position, _begun(stay, life.unit), until, match, now)
    if meant < len(names) - 1:
        found = replace(found, state="identified")
    if part is None:  # pragma: no cover - a piece is a part
        return found
    return replace(found, item=part.item, lot=part.lot, serial=part.serial, expires=part.expires)


def _begun(stay: Stay, unit: Unit) -> datetime:
    return unit.registered_at if stay.was_there else stay.began


def _pieces(life: Life) -> list[list[Stay]]:
    """Give each piece that sat somewhere by then, under every name it had, in order."""
    found: dict[tuple[str | None, datetime], list[Stay]] = {}
    for stay in sorted(life.stays, key=lambda one: one.since):
        if stay.part is not None and stay.since <= life.at:
            found.setdefault((stay.position, stay.began), []).append(stay)
    return [found[key] for key in sorted(found, key=lambda key: (key[1], key[0] or ""))]


def _hands(life: Life, spans: Sequence[tuple[datetime, datetime]]) -> Iterator[Hand]:
    for stay in life.stays:
        until = min(stay.until, life.at)
        seconds = _overlap(stay.since, until, spans)
        if stay.holder is not None and stay.since <= life.at and seconds > 0:
            yield Hand(stay.holder, stay.since, stay.until if stay.until <= life.at else None, seconds)


def _wearers(life: Life, spans: Sequence[tuple[datetime, datetime]]) -> list[Wearer]:
    found: dict[str, Wearer] = {}
    for use in life.uses:
        if not use.worn or use.person is None or not any(since <= use.at <= until for since, until in spans):
            continue
        lasted = 0 if use.until is None else _overlap(use.at, min(use.until, life.at), spans)
        old = found.get(use.person, Wearer(use.person, 0, use.at, use.at, 0))
        found[use.person] = Wearer(use.person, old.times + 1, old.first, use.at, old.seconds + lasted)
    return [found[person] for person in sorted(found)]


def _overlap(since: datetime, until: datetime, spans: Iterable[tuple[datetime, datetime]]) -> int:
    """Give the whole seconds of [since, until) that lie in any of the spans."""
    seconds, reach = 0.0, since
    for begins, ends in sorted(spans):
        first, last = max(begins, reach), min(ends, until)
        if last > first:
            seconds += (last - first).total_seconds()
            reach = last
    return int(seconds)
