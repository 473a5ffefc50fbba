"""What was done about a unit under a recall: when it was located, stopped, put away and remedied, spell by spell."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import datetime
from typing import NamedTuple
from uuid import UUID

import msgspec

from service.assessing.lives import Lived
from service.assessing.recall_acts import Said
from service.assessing.recall_reached import Done, Reached
from service.assessing.stored_lives import Away
from service.domain.lodging import Lodging, in_turn, lodged, outermost, through
from service.domain.recall.acts import Acts
from service.domain.recall.asking import Asking
from service.domain.recall.borne import borne
from service.domain.recall.impact import Life, Touched, touched
from service.domain.recall.spells import Spell, spells
from service.domain.standing import FOREVER
from service.domain.unit import Unit, phase, put_away


class Told(msgspec.Struct, gc=False, frozen=True):
    """A unit with what a recall speaks of in it, its spells under it, and where it sat as a component."""

    lived: Lived
    touched: Touched
    spells: tuple[Spell, ...]
    lodgings: tuple[Lodging[Lived], ...]

    @property
    def lodged(self) -> Lodging[Lived] | None:
        """Give where it is fitted now."""
        return lodged(self.lodgings, self.lived.life.at) if self.lodgings else None

    @property
    def host(self) -> Lived | None:
        """Give the unit it is fitted in."""
        return None if self.lodged is None else self.lodged.host

    def is_at(self, sites: frozenset[str] | None) -> bool:
        """Say whether it is counted at one of the sites (None: any)."""
        return sites is None or (self.lived if self.host is None else self.host).standing.site in sites


class Bearers(NamedTuple):
    """In which units components sat, by component, and in which they sat or may have; `beside` are the units' lives."""

    fitted: Mapping[UUID, Sequence[Lodging[UUID]]]
    every: Mapping[UUID, Sequence[Lodging[UUID]]]
    beside: Mapping[UUID, Lived]

    @classmethod
    def of(cls, acts: Mapping[UUID, Acts], beside: Mapping[UUID, Lived]) -> "Bearers":
        """Take what was said of the components."""
        fitted = {unit: mine.fitted for unit, mine in acts.items() if mine.fitted or mine.perhaps}
        return cls(fitted, {unit: (*acts[unit].fitted, *acts[unit].perhaps) for unit in fitted}, beside)

    def sat(self, unit: UUID) -> tuple[Lodging[Lived], ...]:
        """Give where a component sat at last, one unit after the other."""
        if unit not in self.fitted:
            return ()
        known = (one for one in outermost(unit, self.fitted) if one.host in self.beside)
        return tuple(Lodging(one.since, one.until, self.beside[one.host], one.day) for one in known)

    def doubtful(self, unit: UUID, at: datetime) -> list[Lived]:
        """Give the units that it may be in now, through whatever it sits in, but for the one that it is told in."""
        if unit not in self.every:
            return []
        now = {one.host for one in through(unit, self.every) if one.day <= at < one.until and one.host in self.beside}
        inner = {host for host in now if any(one.day <= at < one.until for one in self.every.get(host, ()))}
        told = lodged(self.sat(unit), at)
        known = None if told is None else told.host.life.unit.unit
        return [self.beside[host] for host in sorted(now - inner) if host != known]

    def bore(self, unit: UUID) -> list[Lodging[Life]]:
        """Give all that it sat in, or may have."""
        if unit not in self.every:
            return []
        known = (one for one in through(unit, self.every) if one.host in self.beside)
        return [Lodging(one.since, one.until, self.beside[one.host].life, one.day) for one in known]


def told_of(lived: Lived, told: Touched, asking: Asking, bearers: Bearers) -> Told:
    """Tell of a unit; of a component with those who had and wore the units it sat in, or may have sat in."""
    unit = lived.life.unit
    if not bearers.every:
        return Told(lived, told, spells(unit, told, asking.recall), ())
    within = bearers.bore(unit.unit)
    if within:
        told = touched(borne(lived.life, within), asking) or told
    return Told(lived, told, spells(unit, told, asking.recall), bearers.sat(unit.unit))


def reached_of(told: Told, said: Said, recall: str, *, rehearsal: bool, gone: bool) -> Reached:
    """Say how far a unit has been dealt with, by what was said of it."""
    lived, last, within = told.lived, said.last, told.lodged
    if not told.spells:
        return Reached(lived, told.touched, None, last, None, None, None, None, lodged=within)
    orders = [*said.stopped, *_held(lived.life.unit, told.spells[-1], recall)]
    done = tuple(
        _done(told, spell, sighted, orders, rehearsal=rehearsal)
        for spell, sighted in zip(told.spells, said.sighted, strict=True)
    )
    now, at = done[-1], lived.life.at
    away = [one.since for one in now.away if one.since <= at < one.until]
    return Reached(
        lived,
        told.touched,
        now.spell.since,
        last_spoken_at=last,
        located_at=now.located,
        stopped_at=now.stopped,
        put_away_at=away[0] if away else None,
        remedied_at=now.spell.ended,
        spells=done,
        lodged=within,
        gone=gone,
    )


def _held(unit: Unit, now: Spell, recall: str) -> list[datetime]:
    """Give since when a unit is withdrawn for a recall: an order that holds it still is about what came in after it."""
    return [max(cause.at, now.since) for cause in unit.held if (cause.reason, cause.recall) == ("recall", recall)]


def _done(told: Told, spell: Spell, sighted: datetime | None, orders: Sequence[datetime], *, rehearsal: bool) -> Done:
    unit, now = told.lived.life.unit, told.lived.life.at
    seen = None if sighted is None or not spell.holds(sighted) else sighted
    located = None if spell.again is None and unit.missing else seen
    stopped = min([at for at in orders if spell.holds(at) and at <= now], default=None)
    counting = _found(seen, stopped) if rehearsal else spell.since
    away = () if counting is None else tuple(_within(spell, counting, _away(told)))
    stored = (
        _in_store(unit if told.host is None else told.host.life.unit, located)
        if rehearsal and spell.again is None
        else None
    )
    if stored is not None and not away:
        away = (Away(stored, FOREVER),)
    return Done(spell, seen, located, stopped, away)


def _found(seen: datetime | None, stopped: datetime | None) -> datetime | None:
    """Give since when it counts in a rehearsal that a unit is put away: what lay in a cage before, nobody had found."""
    return min((at for at in (seen, stopped) if at is not None), default=None)


def _away(told: Told) -> list[Away]:
    """Give when a unit was put away, each time."""
    return _joined(told.lived.away if told.lived.life.unit.fitted_to is None else _component_away(told))


def _component_away(told: Told) -> list[Away]:
    """Give when a component was: while the unit that it sits in is, and by itself once it has a place of its own."""
    unit, within = told.lived.life.unit, told.lodged
    found = [
        Away(max(away.since, one.since), min(away.until, one.until))
        for one in in_turn(told.lodgings)
        for away in one.host.away
        if max(away.since, one.since) < min(away.until, one.until)
    ]
    now, placed = put_away(unit), unit.placed_at
    by_itself = within is None or (unit.place is not None and placed is not None and placed >= within.since)
    return sorted([*found, *([Away(now, FOREVER)] if now is not None and by_itself else [])])


def _joined(stretches: Iterable[Away]) -> list[Away]:
    """Join stretches that follow each other at once."""
    joined: list[Away] = []
    for away in stretches:
        if joined and away.since <= joined[-1].until:
            before = joined.pop()
            joined.append(Away(before.since, max(before.until, away.until)))
        else:
            joined.append(away)
    return joined


def _within(spell: Spell, counting: datetime, stretches: Iterable[Away]) -> Iterator[Away]:
    """Give what of some stretches lies in a spell from a moment on, up to the next."""
    for away in stretches:
        since, until = max(away.since, counting), away.until if spell.again is None else min(away.until, spell.again)
        if since < until:
            yield Away(since, until)


def _in_store(unit: Unit, located: datetime | None) -> datetime | None:
    """Give since when a located unit lies in store: in a rehearsal, where nothing is withdrawn, it is put away then."""
    if located is None or phase(unit) != "in-store":
        return None
    return located if unit.placed_at is None else max(located, unit.placed_at)
