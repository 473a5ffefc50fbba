"""Recalls: what is known of them, and what each has done to units, people and stock."""

from collections.abc import Iterable, Iterator, Sequence
from datetime import datetime
from typing import NamedTuple

import msgspec

from service.assessing.lives import Lived, lives
from service.assessing.moment import Question
from service.assessing.spare_stock import spare_stock
from service.assessing.spoken_of import kins_spoken_of
from service.domain.facts import instant
from service.domain.kinds.quarantined import Quarantined
from service.domain.recall.campaign import Campaign, campaigns
from service.domain.recall.impact import Sitting, Touched, touched
from service.domain.recall.opening import Opening
from service.domain.recall.sighting import SIGHTINGS
from service.domain.recall.spare import Spare
from service.domain.unit import Unit, phase, put_away
from service.store.events_of_subjects import events_of_subjects
from service.store.spoken_since import Since, Spoken, spoken_since


class Reached(msgspec.Struct, frozen=True):
    """A unit that a recall speaks of, or once spoke of, and how far it has been dealt with.

    `since` is when it came under the recall, not before its opening; None where all was over by then. What was done
    about it is told from then on.
    """

    lived: Lived
    touched: Touched
    since: datetime | None
    last_spoken_at: datetime | None
    located_at: datetime | None
    stopped_at: datetime | None
    put_away_at: datetime | None
    remedied_at: datetime | None

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
        """Name the site it is counted at."""
        return self.lived.standing.site


class Impact(msgspec.Struct, frozen=True):
    """What a recall has done, by unit and stock; `campaign` is None for what was only asked about."""

    openings: tuple[Opening, ...]
    units: tuple[Reached, ...]
    stock: tuple[Spare, ...]
    campaign: Campaign | None = None

    @property
    def under(self) -> list[Reached]:
        """Give the units that came under the recall since it was opened."""
        return [one for one in self.units if one.since is not None]

    @property
    def sites(self) -> list[str]:
        """Name the sites where there is any of it."""
        return sorted({one.site for one in self.units} | {one.site for one in self.stock})

    def at(self, site: str) -> "Impact":
        """Give what it has done at one site."""
        units = tuple(one for one in self.units if one.site == site)
        return Impact(self.openings, units, tuple(one for one in self.stock if one.site == site), self.campaign)


def known(question: Question) -> dict[str, Campaign]:
    """Give the recalls opened by the moment, as known."""
    rows = [row for row in question.known.rows if row.seq <= question.judged_to]
    return campaigns(rows, question.world, question.as_at)


class _Told(NamedTuple):
    """A unit with what a recall speaks of in it, since when it came under it, and when that was remedied."""

    lived: Lived
    touched: Touched
    since: datetime | None
    remedied_at: datetime | None


async def impact(
    question: Question, openings: Sequence[Opening], sites: frozenset[str] | None, campaign: Campaign | None = None
) -> Impact:
    """Find what openings of a recall speak of, at these sites (None: all)."""
    recall, opened = openings[0].recall, openings[0].at
    kins = await kins_spoken_of(question, openings)
    found = [
        _told(lived, told, recall, opened)
        for lived in await lives(question, kins)
        if (sites is None or lived.standing.site in sites) and (told := touched(lived.life, openings)) is not None
    ]
    spoken = await spoken_since(
        question.conn,
        question.organisation,
        (Since(one.lived.life.unit.tag, one.since) for one in found),
        kinds=SIGHTINGS,
        at=question.as_at,
        until_seq=question.judged_to,
    )
    stopped = {} if campaign is None else await _stopped(question, recall)
    rehearsal = campaign is not None and campaign.rehearsal
    units = tuple(
        _reached(told, said, stopped.get(told.lived.life.unit.tag, ()), rehearsal=rehearsal)
        for told, said in zip(found, spoken, strict=True)
    )
    stock = await spare_stock(question, [one for opening in openings for one in opening.criteria])
    there = tuple(one for one in stock if sites is None or one.site in sites)
    return Impact(tuple(openings), units, there, campaign)


async def _stopped(question: Question, recall: str) -> dict[str, list[datetime]]:
    """Give by tag the moments at which units were withdrawn for a recall."""
    subjects = [f"recall:{recall}"]
    rows = await events_of_subjects(question.conn, question.organisation, subjects, until_seq=question.judged_to)
    found: dict[str, list[datetime]] = {}
    for event in (row.event for row in rows):
        if isinstance(event, Quarantined):
            found.setdefault(event.asset, []).append(instant(event, None, question.world))
    return found


def _told(lived: Lived, told: Touched, recall: str, opened: datetime) -> _Told:
    since_then = [sitting for sitting in told.sittings if sitting.until is None or sitting.until > opened]
    remedied = None if told.affected else _remedied(lived, since_then, recall, opened)
    if not told.affected and remedied is None:
        return _Told(lived, told, None, None)
    return _Told(lived, told, max(opened, min(sitting.since for sitting in since_then)), remedied)


def _remedied(lived: Lived, since_then: Sequence[Sitting], recall: str, opened: datetime) -> datetime | None:
    """Give when the last of what a recall had reached was dealt with; None where nothing was."""
    unit = lived.life.unit
    ends = [sitting.until for sitting in since_then if sitting.until is not None]
    acts = [at for at in (unit.fixed.get(recall), unit.not_affected.get(recall)) if at is not None and at > opened]
    return max((*ends, *acts), default=None) if since_then else None


def _reached(told: _Told, spoken: Spoken, stopped: Iterable[datetime], *, rehearsal: bool) -> Reached:
    lived, since = told.lived, told.since
    if since is None:
        return Reached(lived, told.touched, None, spoken.last, None, None, None, None)
    unit = lived.life.unit
    located = None if unit.missing else spoken.first
    away = [at for at in (_away(lived, since), _in_store(unit, located) if rehearsal else None) if at is not None]
    return Reached(
        lived,
        told.touched,
        since,
        last_spoken_at=spoken.last,
        located_at=located,
        stopped_at=min((at for at in stopped if since <= at <= lived.life.at), default=None),
        put_away_at=min(away, default=None),
        remedied_at=told.remedied_at,
    )


def _away(lived: Lived, since: datetime) -> datetime | None:
    """Give when a unit was first put away from a moment on; a component is never in scope, in whatever hand it is."""
    if lived.life.unit.fitted_to is not None:
        now = put_away(lived.life.unit)
        return None if now is None else max(now, since)
    return min((max(away.since, since) for away in lived.away if away.until > since), default=None)


def _in_store(unit: Unit, located: datetime | None) -> datetime | None:
    """Give since when a located unit lies in store: in a rehearsal, where nothing is withdrawn, it is put away then."""
    if located is None or phase(unit) != "in-store":
        return None
    return located if unit.placed_at is None else max(located, unit.placed_at)


class Counts(msgspec.Struct, frozen=True):
    """How many units a recall speaks of or spoke of, and how far those that came under it have been dealt with.

    Every unit is affected, remedied or was so only `once`, before.
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


def counts(units: Iterable[Reached]) -> Counts:
    """Count units."""
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
    )


def by_tag(units: Iterable[Reached]) -> Iterator[tuple[str, Reached]]:
    """Give units in the order of a list, each with its key there."""
    keyed = ((f"{one.unit.tag} {one.unit.unit}", one) for one in units)
    return iter(sorted(keyed, key=lambda pair: pair[0]))
