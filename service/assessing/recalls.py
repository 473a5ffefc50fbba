"""Recalls: what is known of them, and what each has done to units, people and stock."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import datetime
from typing import NamedTuple
from uuid import UUID

import msgspec
from msgspec.structs import replace

from service.assessing.lives import Away, Lived, lives
from service.assessing.moment import Question
from service.assessing.recall_acts import Said, entangled, said_of_units
from service.assessing.spare_stock import spare_stock
from service.assessing.spoken_of import kins_spoken_of
from service.domain.recall.acts import Acts
from service.domain.recall.borne import borne
from service.domain.recall.campaign import Campaign, campaigns
from service.domain.recall.followed import lots_told
from service.domain.recall.impact import Touched, touched
from service.domain.recall.opening import Opening
from service.domain.recall.spare import Spare
from service.domain.recall.spells import Spell, spells
from service.domain.standing import FOREVER
from service.domain.unit import Unit, phase, put_away


class Done(NamedTuple):
    """What was done about a unit in a spell under a recall: in which stretches it was put away, too."""

    spell: Spell
    located: datetime | None
    stopped: datetime | None
    away: tuple[Away, ...]


class Reached(msgspec.Struct, frozen=True):
    """A unit that a recall speaks of, or once spoke of, and how far it has been dealt with.

    `since` is when it came under the recall, for what is under it now, and not before its opening; None where all was
    over by then. What was done about it is told from then on; `put_away_at` only while it lasts. `spells` tell the
    same of each spell that it was under it, the last one included. `host` is the unit that it is fitted in.
    """

    lived: Lived
    touched: Touched
    since: datetime | None
    last_spoken_at: datetime | None
    located_at: datetime | None
    stopped_at: datetime | None
    put_away_at: datetime | None
    remedied_at: datetime | None
    spells: tuple["Done", ...] = ()
    host: Lived | None = None

    @property
    def outstanding(self) -> bool:
        """Say whether something is still to be done: what is retired is dealt with."""
        return self.touched.affected and not self.unit.retired

    @property
    def ended_at(self) -> datetime | None:
        """Give since when nothing is to be done about it any more; None while something is."""
        return self.lived.standing.since if self.touched.affected and self.unit.retired else self.remedied_at

    @property
    def unit(self) -> Unit:
        """Give the unit as it is."""
        return self.lived.life.unit

    @property
    def site(self) -> str:
        """Name the site it is counted at; of a component that of the unit it is fitted in (R51)."""
        return (self.lived if self.host is None else self.host).standing.site


class Impact(msgspec.Struct, frozen=True):
    """What a recall has done, by unit and stock; `campaign` is None for what was only asked about.

    `exposing` are all units that somebody had or wore at the sites, wherever they are now, each with those alone.
    """

    openings: tuple[Opening, ...]
    units: tuple[Reached, ...]
    stock: tuple[Spare, ...]
    exposing: tuple[Touched, ...]
    campaign: Campaign | None = None

    @property
    def under(self) -> list[Reached]:
        """Give the units that came under the recall since it was opened."""
        return [one for one in self.units if one.since is not None]

    @property
    def sites(self) -> list[str]:
        """Name the sites where there is any of it."""
        return sorted({one.site for one in self.units} | {one.site for one in self.stock})

    @property
    def every_site(self) -> list[str]:
        """Name those, and the sites where somebody had or wore a unit that is elsewhere now."""
        return sorted({*self.sites, *(site for one in self.exposing for site in one.exposing)})

    @property
    def counts(self) -> "Counts":
        """Count its units, and the persons who had or wore any at its sites."""
        return counts(self.units, self.exposing)

    def at(self, site: str) -> "Impact":
        """Give what it has done at one site."""
        units = tuple(one for one in self.units if one.site == site)
        stock = tuple(one for one in self.stock if one.site == site)
        return Impact(self.openings, units, stock, tuple(_exposing(self.exposing, frozenset({site}))), self.campaign)


def known(question: Question) -> dict[str, Campaign]:
    """Give the recalls opened by the moment, as known."""
    rows = [row for row in question.known.rows if row.seq <= question.judged_to]
    return campaigns(rows, question.world, question.as_at)


class _Lodging(NamedTuple):
    """From when until when a component sat in a unit."""

    since: datetime
    until: datetime
    host: Lived


class _Told(NamedTuple):
    """A unit with what a recall speaks of in it, its spells under it, and where it sat as a component."""

    lived: Lived
    touched: Touched
    spells: tuple[Spell, ...]
    lodgings: tuple[_Lodging, ...]

    @property
    def lodged(self) -> _Lodging | None:
        """Give where it is fitted now."""
        at = self.lived.life.at
        return next((one for one in self.lodgings if one.since <= at < one.until), None)

    @property
    def host(self) -> Lived | None:
        """Give the unit it is fitted in."""
        return None if self.lodged is None else self.lodged.host

    def is_at(self, sites: frozenset[str] | None) -> bool:
        """Say whether it is counted at one of the sites (None: any)."""
        return sites is None or (self.lived if self.host is None else self.host).standing.site in sites


async def impact(
    question: Question, openings: Sequence[Opening], sites: frozenset[str] | None, campaign: Campaign | None = None
) -> Impact:
    """Find what openings of a recall speak of, at these sites (None: all)."""
    recall = openings[0].recall
    every = _following(await lives(question, await kins_spoken_of(question, openings)))
    reached = [(lived, told) for lived in every if (told := touched(lived.life, openings)) is not None]
    acts = await entangled(question, every)
    beside = {lived.life.unit.unit: lived for lived in every}
    every_told = [_told(lived, told, openings, _lodgings(lived, acts, beside)) for lived, told in reached]
    found = [one for one in every_told if one.is_at(sites)]
    asked = [(one.lived, [spell.since for spell in one.spells]) for one in found]
    said = await said_of_units(question, asked, None if campaign is None else recall, acts)
    rehearsal = campaign is not None and campaign.rehearsal
    units = tuple(_reached(*pair, recall, rehearsal=rehearsal) for pair in zip(found, said, strict=True))
    exposing = tuple(_exposing((one.touched for one in every_told), sites))
    return Impact(tuple(openings), units, await _stock(question, openings, sites), exposing, campaign)


def _exposing(touched: Iterable[Touched], sites: frozenset[str] | None) -> Iterator[Touched]:
    """Give the units that somebody had or wore at the sites (None: any), each with those alone."""
    for one in touched:
        there = one if sites is None else one.at(sites)
        if there.exposing:
            yield there


def _following(every: Sequence[Lived]) -> list[Lived]:
    """Let each part that was followed by its serial number be known by what was told of it in any of the units."""
    lots = lots_told(stay for lived in every for stay in lived.life.stays)
    return [replace(lived, life=replace(lived.life, lots=lots)) for lived in every] if lots else [*every]


async def outstanding(question: Question, openings: Sequence[Opening]) -> list[tuple[Unit, datetime]]:
    """Find the units with something still to be done about, each since when: what is retired is dealt with."""
    found: list[tuple[Unit, datetime]] = []
    for lived in await lives(question, await kins_spoken_of(question, openings)):
        unit, told = lived.life.unit, touched(lived.life, openings)
        if told is not None and told.affected and not unit.retired:
            found.append((unit, spells(unit, told, openings[0].recall)[-1].since))
    return found


async def _stock(question: Question, openings: Sequence[Opening], sites: frozenset[str] | None) -> tuple[Spare, ...]:
    """Find the spare stock that the openings speak of which nobody has taken back: it may be fitted again."""
    standing = [one for one in openings if one.until is None or one.until > question.as_at]
    found = await spare_stock(question, [one for opening in standing for one in opening.criteria])
    return tuple(one for one in found if sites is None or one.site in sites)


def _lodgings(lived: Lived, acts: Mapping[UUID, Acts], beside: Mapping[UUID, Lived]) -> tuple[_Lodging, ...]:
    mine = acts.get(lived.life.unit.unit)
    stays = () if mine is None else mine.fitted
    return tuple(_Lodging(since, until, beside[host]) for since, until, host in stays if host in beside)


def _told(lived: Lived, told: Touched, openings: Sequence[Opening], lodgings: tuple[_Lodging, ...]) -> _Told:
    """Tell of a unit; of a component with those who had and wore the unit it sat in."""
    if lodgings:
        life = borne(lived.life, ((since, until, host.life) for since, until, host in lodgings))
        told = touched(life, openings) or told
    return _Told(lived, told, spells(lived.life.unit, told, openings[0].recall), lodgings)


def _reached(told: _Told, said: Said, recall: str, *, rehearsal: bool) -> Reached:
    lived, last = told.lived, said.last
    if not told.spells:
        return Reached(lived, told.touched, None, last, None, None, None, None, host=told.host)
    orders = [*said.stopped, *_held(lived.life.unit, told.spells[-1], recall)]
    done = tuple(
        _done(told, spell, sighted, orders, rehearsal=rehearsal)
        for spell, sighted in zip(told.spells, said.sighted, strict=True)
    )
    now, at = done[-1], lived.life.at
    return Reached(
        lived,
        told.touched,
        now.spell.since,
        last_spoken_at=last,
        located_at=now.located,
        stopped_at=now.stopped,
        put_away_at=next((away.since for away in now.away if away.since <= at < away.until), None),
        remedied_at=now.spell.ended,
        spells=done,
        host=told.host,
    )


def _held(unit: Unit, now: Spell, recall: str) -> list[datetime]:
    """Give since when a unit is withdrawn for a recall: an order that holds it still is about what came in after it."""
    return [max(cause.at, now.since) for cause in unit.held if (cause.reason, cause.recall) == ("recall", recall)]


def _done(told: _Told, spell: Spell, sighted: datetime | None, orders: Sequence[datetime], *, rehearsal: bool) -> Done:
    unit, now = told.lived.life.unit, told.lived.life.at
    seen = None if sighted is None or not spell.holds(sighted) else sighted
    located = None if spell.again is None and unit.missing else seen
    stopped = min((at for at in orders if spell.holds(at) and at <= now), default=None)
    away = () if rehearsal and stopped is None else tuple(_within(spell, _away(told)))
    stored = (
        _in_store(unit if told.host is None else told.host.life.unit, located)
        if rehearsal and spell.again is None
        else None
    )
    if stored is not None and not away:
        away = (Away(stored, FOREVER),)
    return Done(spell, located, stopped, away)


def _away(told: _Told) -> list[Away]:
    """Give when a unit was put away, each time."""
    return _joined(told.lived.away if told.lived.life.unit.fitted_to is None else _component_away(told))


def _component_away(told: _Told) -> list[Away]:
    """Give when a component was: while the unit that it sits in is, and by itself once it has a place of its own."""
    unit, lodged = told.lived.life.unit, told.lodged
    found = [
        Away(max(away.since, since), min(away.until, until))
        for since, until, host in told.lodgings
        for away in host.away
        if away.since < until and since < away.until
    ]
    now, placed = put_away(unit), unit.placed_at
    by_itself = lodged is None or (unit.place is not None and placed is not None and placed >= lodged.since)
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


def _within(spell: Spell, stretches: Iterable[Away]) -> Iterator[Away]:
    """Give what of some stretches lies in a spell, up to the next."""
    for away in stretches:
        since, until = max(away.since, spell.since), away.until if spell.again is None else min(away.until, spell.again)
        if since < until:
            yield Away(since, until)


def _in_store(unit: Unit, located: datetime | None) -> datetime | None:
    """Give since when a located unit lies in store: in a rehearsal, where nothing is withdrawn, it is put away then."""
    if located is None or phase(unit) != "in-store":
        return None
    return located if unit.placed_at is None else max(located, unit.placed_at)


class Counts(msgspec.Struct, frozen=True):
    """How many units a recall speaks of or spoke of, and how far those that came under it have been dealt with.

    Every unit is affected, remedied or was so only `once`, before. `people` had or wore any meanwhile, where that was.
    """

    units: int
    affected: int
    certain: int
    once: int
    located: int
    stopped: int
    put_away: int
    remedied: int
    outstanding: int
    missing: int
    retired: int
    silent: int
    people: int


def counts(units: Iterable[Reached], exposing: Iterable[Touched]) -> Counts:
    """Count units, and who had or wore them."""
    every = list(units)
    affected = [one for one in every if one.touched.affected]
    return Counts(
        units=len(every),
        affected=len(affected),
        certain=sum(one.touched.certain for one in affected),
        once=sum(one.since is None for one in every),
        located=sum(one.located_at is not None for one in every),
        stopped=sum(one.stopped_at is not None for one in every),
        put_away=sum(one.put_away_at is not None for one in every),
        remedied=sum(one.remedied_at is not None for one in every),
        outstanding=sum(one.outstanding for one in every),
        missing=sum(phase(one.unit) == "missing" for one in affected),
        retired=sum(one.unit.retired for one in affected),
        silent=sum(one.outstanding and one.located_at is None for one in every),
        people=len({person for one in exposing for person in one.people}),
    )


def by_tag(units: Iterable[Reached]) -> Iterator[tuple[str, Reached]]:
    """Give units in the order of a list, each with its key there."""
    keyed = ((f"{one.unit.tag} {one.unit.unit}", one) for one in units)
    return iter(sorted(keyed, key=lambda pair: pair[0]))
