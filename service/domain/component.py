"""Components: a part with a tag of its own counts for the unit it is fitted in (R51).

It is fitted in the unit it was registered for, until that tells that a part with its serial was taken out, or another
that one was put in. A serial number may be another part's, too: so where it was put in elsewhere, or is registered
again for another, its condition counts for the unit it came from as well, until that one tells itself that it was taken
out: from the last place where it was put in, if that was said, and as a part, not as a filter. A registration that
names no unit says nothing of where it is. Put in on a day alone it may be there since that began, and its condition
counts from then on: in doubt a unit is not used. A component may be fitted in another: what speaks against it speaks
through that.
"""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from datetime import datetime
from typing import NamedTuple
from uuid import UUID

from service.domain.facts import Fact, Signal, day_of, signal
from service.domain.fold import Folded, Story
from service.domain.identity import Identity
from service.domain.intervals import Interval
from service.domain.kinds.filter_replaced import FilterReplaced
from service.domain.kinds.part_replaced import PartReplaced
from service.domain.kinds.registered import Registered
from service.domain.kinds.retired import Retired
from service.domain.label import normal
from service.domain.lodging import Lodging
from service.domain.standing import BEGINNING, FOREVER
from service.domain.stretches import Stretch, joined, without

SPEAKING = frozenset({"withdrawal", "recall", "recheck", "unresolved-report", "retired"})
"""What speaks against the unit that a component serves; where the component itself is does not."""


class Move(NamedTuple):
    """What a fact tells of it: the unit that it is fitted in from then on (None: in none), and which unit tells it.

    Its own registration is told by no other (None).
    """

    fact: Fact
    teller: UUID | None
    host: UUID | None

    @property
    def day(self) -> datetime:
        """Give the earliest moment at which it may have been."""
        return day_of(self.fact) or self.fact.at


def conditions(story: Story, identity: Identity, facts: Mapping[UUID, list[Fact]]) -> Iterator[tuple[UUID, Signal]]:
    """Turn a component's story into signals for the units it served."""
    unit = story.folded.unit.unit
    for host, stretches in _served(unit, identity, facts).items():
        for since, ends in joined(stretches):
            until = ends or FOREVER
            spoken: tuple[str, ...] = ()
            for interval in story.intervals:
                speaks = _speaking(interval)
                if speaks != spoken and interval.since < until and interval.until > since:
                    yield host, signal(max(interval.since, since), "component", unit, speaks)
                    spoken = speaks
            if spoken and until < FOREVER:
                yield host, signal(until, "component", unit)


def _speaking(interval: Interval) -> tuple[str, ...]:
    return tuple(reason for reason in interval.reasons if reason in SPEAKING)


def speaks_otherwise(left: Folded, story: Story) -> bool:
    """Say whether a component's story, told on from where it was left, may change what it says to its host.

    It was told what it would say for all time to come, if that was always the same.
    """
    if left.unit.fitted_to is None:
        return False
    if left.ahead is None or left.ahead.until < FOREVER:
        return True
    spoken = _speaking(left.ahead)
    return any(_speaking(interval) != spoken for interval in story.intervals if interval.until > left.at)


def fitted(unit: UUID, identity: Identity, facts: Mapping[UUID, list[Fact]]) -> list[Lodging[UUID]]:
    """List from when until when it was fitted in which unit: what takes it out of another than that moves nothing."""
    moves: list[Move] = []
    for move in _moves(unit, identity, facts):
        if move.host is not None or (moves and move.teller == moves[-1].host):
            moves.append(move)
    ends = [*(move.fact.at for move in moves[1:]), FOREVER]
    return _lodgings(
        Lodging(move.fact.at, until, move.host, move.day)
        for move, until in zip(moves, ends, strict=False)
        if move.host is not None and move.host != unit
    )


def perhaps(unit: UUID, identity: Identity, facts: Mapping[UUID, list[Fact]]) -> Iterator[Lodging[UUID]]:
    """List where it may have been besides, which is never sure: it was put in elsewhere, and that unit says nothing."""
    known = fitted(unit, identity, facts)
    for host, stretches in _served(unit, identity, facts).items():
        there = [(one.day, one.until) for one in known if one.host == host]
        for since, until in without(joined(stretches), there):
            ends = until or FOREVER
            yield Lodging(ends, ends, host, since)


def _lodgings(moves: Iterable[Lodging[UUID]]) -> list[Lodging[UUID]]:
    """Join what follows at once in the same unit, and let none have begun before the one before it in that unit ended.

    What lasts for no time at all, be it of its day, is none.
    """
    found: list[Lodging[UUID]] = []
    free: dict[UUID, datetime] = {}
    ended: dict[UUID, datetime] = {}
    for one in moves:
        last = found[-1] if found and (found[-1].host, found[-1].until) == (one.host, one.since) else None
        if last is None:
            free[one.host] = ended.get(one.host, BEGINNING)
        day = max(one.day, free[one.host])
        if last is not None:
            found[-1] = last._replace(until=one.until, day=min(last.day, day))
        elif day < one.until:
            found.append(one._replace(day=day))
        ended[one.host] = one.until
    return found


def _served(unit: UUID, identity: Identity, facts: Mapping[UUID, list[Fact]]) -> Mapping[UUID, list[Stretch]]:
    """Tell when its condition counts for which unit: until that itself says otherwise."""
    served: defaultdict[UUID, list[Stretch]] = defaultdict(list)
    open_since: dict[UUID, datetime] = {}
    for move in _moves(unit, identity, facts):
        since = open_since.pop(move.teller, None) if move.teller is not None and move.host is None else None
        if since is not None and move.teller is not None and since < move.fact.at:
            served[move.teller].append((since, move.fact.at))
        if move.host is not None and move.host != unit:
            open_since[move.host] = min(move.day, open_since.get(move.host, move.day))
    for host, since in open_since.items():
        served[host].append((since, None))
    return served


def is_component(unit: UUID, identity: Identity) -> bool:
    """Say whether a unit was ever registered as a part of another."""
    events = (fact.event for fact in identity.registrations[unit])
    return any(isinstance(event, Registered) and event.fitted_to is not None for event in events)


def _moves(unit: UUID, identity: Identity, facts: Mapping[UUID, list[Fact]]) -> list[Move]:
    """Follow it from unit to unit, in order, also before it was registered as a component."""
    moves = [*_registered(unit, identity), *_swapped(_serial(identity.registrations[unit][0]), identity, facts)]
    return sorted(moves, key=lambda move: move.fact.key)


def _registered(unit: UUID, identity: Identity) -> Iterator[Move]:
    """Find the units it was registered for."""
    for fact in identity.registrations[unit]:
        host = fact.event.fitted_to if isinstance(fact.event, Registered) else None
        if host is not None:
            yield Move(fact, None, identity.unit(host, fact.key))


def _swapped(serial: str, identity: Identity, facts: Mapping[UUID, list[Fact]]) -> Iterator[Move]:
    """Find where a part with the serial was put in, or taken out of the last place where one was, and not put back."""
    for unit, known in facts.items():
        places: set[str] = set()
        for fact in _living(known, identity.registrations[unit][0]):
            event = fact.event
            if not isinstance(event, FilterReplaced | PartReplaced):
                continue
            put, taken = (part and part.serial and normal(part.serial) for part in (event.in_, event.out))
            as_part = isinstance(event, PartReplaced)
            if put == serial:
                places |= {event.position} if as_part else set()
                yield Move(fact, unit, unit)
            elif taken == serial and as_part and places <= {event.position}:
                places = set()
                yield Move(fact, unit, None)
            elif taken == serial and as_part:
                places.discard(event.position)


def _living(facts: Iterable[Fact], first: Fact) -> Iterator[Fact]:
    """Leave out what was said of a unit while it was retired."""
    retired = False
    for fact in facts:
        if isinstance(fact.event, Registered) and fact.key != first.key:
            retired = False
        if not retired:
            yield fact
        retired = retired or isinstance(fact.event, Retired)


def _serial(first: Fact) -> str:
    return normal(first.event.serial) if isinstance(first.event, Registered) else ""
