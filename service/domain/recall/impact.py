"""Impact: what a recall speaks of in one unit: what sits there, what sat there and when, and in whose hands meanwhile.

A part that was named after it was put in counts as what it turned out to be, from its beginning; before anything was
said of a position, or it was emptied, any item may have sat there that the model lists for it. A wearing counts for as
long as it was said to last. What is still there though no opening reaches it (it was dealt with, or came in after the
recall was voided) is `cleared`.
"""

from collections.abc import Iterable, Iterator, Sequence
from datetime import datetime
from typing import Literal

import msgspec
from msgspec.structs import replace

from service.domain.holder import Holder
from service.domain.kinds.recall_opened import Criterion
from service.domain.part import Part
from service.domain.recall.bearing import Spot, reached
from service.domain.recall.listing import Listing
from service.domain.recall.matching import any_of, match_part, match_unit, match_unstated, speaks_of_parts
from service.domain.recall.opening import Opening
from service.domain.stays import Stay
from service.domain.unit import Unit
from service.domain.wearing import KnownBy, Use

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
    """Who wore it meanwhile: how often, first and last, and for how many seconds as far as an end was said.

    `known_by` are the kinds of the events that tell of it.
    """

    person: str
    times: int
    first: datetime
    last: datetime
    seconds: int
    known_by: tuple[KnownBy, ...] = ("worn",)


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
    def people(self) -> frozenset[str]:
        """Name the persons who had or wore it meanwhile."""
        held = (hand.holder.person for hand in self.hands if hand.holder.person is not None)
        return frozenset((*held, *(one.person for one in self.wearers)))

    @property
    def certain(self) -> bool:
        """Say whether it is known of anything that is under it now, or of anything that ever was."""
        state = "affected" if self.affected else None
        return any(sitting.certain for sitting in self.sittings if state in {None, sitting.state})


class Life(msgspec.Struct, frozen=True):
    """A unit as it is at a moment, with all its stays and uses up to then."""

    unit: Unit
    model: Listing | None
    at: datetime
    stays: tuple[Stay, ...]
    uses: tuple[Use, ...]


def touched(life: Life, openings: Sequence[Opening]) -> Touched | None:
    """Say what the openings of a recall speak of in a unit; None where that is nothing."""
    criteria = [criterion for opening in openings for criterion in opening.criteria]
    spoken = tuple(_sittings(life, criteria))
    if not spoken:
        return None
    there = any(one.state == "cleared" for one in spoken)
    now = {spot for opening in openings for spot, _ in reached(life.unit, life.model, opening)} if there else set()
    sittings = tuple(replace(one, state="affected") if _is_now(one, now) else one for one in spoken)
    spans = Spans(((one.since, one.until) for one in sittings), life.at)
    return Touched(sittings, tuple(_hands(life, spans)), tuple(_wearers(life, spans)))


def _is_now(sitting: Sitting, now: set[Spot]) -> bool:
    return sitting.state == "cleared" and sitting.position in now


def _sittings(life: Life, criteria: Sequence[Criterion]) -> Iterator[Sitting]:
    """Give what the criteria speak of; what is still there as if it was dealt with."""
    unit = life.unit
    of_parts = [criterion for criterion in criteria if speaks_of_parts(criterion)]
    of_units = [criterion for criterion in criteria if not speaks_of_parts(criterion)]
    if of_units:
        own = (unit.model, unit.serial, unit.made_on, unit.acquired_on)
        whole = any_of(match_unit(criterion, *own) for criterion in of_units)
        if whole is not False:
            yield Sitting(None, unit.registered_at, None, whole is True, "cleared")
    if of_parts:
        yield from _parts(life, of_parts)
        yield from _unstated(life, of_parts)


def _parts(life: Life, criteria: Sequence[Criterion]) -> Iterator[Sitting]:
    """Tell of each piece under the last of its names that the criteria speak of."""
    for names in _pieces(life):
        matches = [any_of(match_part(one, life.unit.model, part) for one in criteria) for _, part in names]
        meant = max((nth for nth, match in enumerate(matches) if match is not False), default=None)
        if meant is None:
            continue
        stay, part = names[meant]
        until = None if stay.until > life.at else stay.until
        state: State = "identified" if meant < len(names) - 1 else "cleared" if until is None else "removed"
        said = (part.item, part.lot, part.serial, part.expires)
        yield Sitting(stay.position, _begun(stay, life.unit), until, matches[meant] is True, state, *said)


def _unstated(life: Life, criteria: Sequence[Criterion]) -> Iterator[Sitting]:
    """Tell of the time before anything was said of a position."""
    unit = life.unit
    stated: dict[str | None, datetime] = {}
    for stay in life.stays:
        if stay.since <= life.at:
            begun = _begun(stay, unit)
            stated[stay.position] = min(begun, stated.get(stay.position, begun))
    for known in () if life.model is None else life.model.positions:
        until = stated.get(known.position)
        match = any_of(match_unstated(criterion, unit.model, known.items) for criterion in criteria)
        if match is not False and (until is None or until > unit.registered_at):
            state: State = "cleared" if until is None else "removed"
            yield Sitting(known.position, unit.registered_at, until, False, state)  # noqa: FBT003 - never certain


def _begun(stay: Stay, unit: Unit) -> datetime:
    return unit.registered_at if stay.was_there else stay.began


def _pieces(life: Life) -> list[list[tuple[Stay, Part]]]:
    """Give each piece that sat somewhere by then, under every name it had, in order."""
    found: dict[tuple[datetime, str], list[tuple[Stay, Part]]] = {}
    for stay in sorted(life.stays, key=lambda one: one.since):
        if stay.part is not None and stay.since <= life.at:
            found.setdefault((stay.began, stay.position or ""), []).append((stay, stay.part))
    return [found[key] for key in sorted(found)]


class Spans:
    """Spans of time up to a moment, in order and apart. Of one that goes on (None) the moment itself is part."""

    def __init__(self, spans: Iterable[tuple[datetime, datetime | None]], at: datetime) -> None:
        told = list(spans)
        self.goes_on = any(until is None for _, until in told)
        self._apart: list[tuple[datetime, datetime]] = []
        for since, until in sorted((since, until or at) for since, until in told):
            if self._apart and since <= self._apart[-1][1]:
                begun, reach = self._apart.pop()
                self._apart.append((begun, max(reach, until)))
            else:
                self._apart.append((since, until))
        self._at = at

    def hold(self, moment: datetime) -> bool:
        """Say whether a moment lies in any."""
        if self.goes_on and moment == self._at:
            return True
        return any(since <= moment < until for since, until in self._apart)

    def seconds_of(self, since: datetime, until: datetime) -> float:
        """Give how much of [since, until) lies in them."""
        shared = (min(until, ends) - max(since, begins) for begins, ends in self._apart)
        return sum(max(0.0, one.total_seconds()) for one in shared)


def _hands(life: Life, spans: Spans) -> Iterator[Hand]:
    """Tell of the hands that had the unit meanwhile, if only at the moment asked about."""
    for stay in life.stays:
        if stay.holder is None or stay.since > life.at:
            continue
        until = None if stay.until > life.at else stay.until
        seconds = spans.seconds_of(stay.since, until or life.at)
        if seconds > 0 or (until is None and spans.goes_on):
            yield Hand(stay.holder, stay.since, until, int(seconds))


def _wearers(life: Life, spans: Spans) -> list[Wearer]:
    """Tell of those who wore it meanwhile, by person; a wearing may have begun before."""
    found: dict[str, Wearer] = {}
    for use in life.uses:
        if not use.worn or use.person is None:
            continue
        lasted = 0.0 if use.until is None else spans.seconds_of(use.at, min(use.until, life.at))
        if lasted > 0 or spans.hold(use.at):
            old = found.get(use.person, Wearer(use.person, 0, use.at, use.at, 0, ()))
            known_by = tuple(sorted({*old.known_by, use.known_by}))
            seconds = old.seconds + int(lasted)
            found[use.person] = Wearer(use.person, old.times + 1, old.first, use.at, seconds, known_by)
    return [found[person] for person in sorted(found)]
