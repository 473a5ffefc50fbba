"""Recalls: what is known of them, and what each has done to units, people and stock."""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from datetime import datetime
from typing import Literal
from uuid import UUID

import msgspec

from service.assessing.lives import Lived, lives
from service.assessing.moment import Question
from service.assessing.spare_stock import spare_stock
from service.domain.recall.campaign import Campaign, campaigns
from service.domain.recall.impact import Touched, touched
from service.domain.recall.opening import Opening
from service.domain.recall.spare import Spare
from service.domain.unit import put_away
from service.recording.recalled import kins_recalled
from service.store.spoken_since import Spoken, spoken_since

Unknown = Literal[
    "not-stated", "nothing-said", "holder-not-a-person", "stock-without-lot", "not-located", "made-or-received"
]


class Reached(msgspec.Struct, frozen=True):
    """A unit that a recall speaks of, or once spoke of, and how far it has been dealt with."""

    lived: Lived
    touched: Touched
    last_spoken_at: datetime | None
    located_at: datetime | None
    stopped_at: datetime | None
    put_away_at: datetime | None
    remedied_at: datetime | None

    @property
    def outstanding(self) -> bool:
        """Say whether something is still to be done: what is retired is dealt with."""
        return self.touched.affected and not self.lived.life.unit.retired

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

    def unknown(self) -> dict[Unknown, int]:
        """Count what the records cannot tell, by its sort."""
        found: defaultdict[Unknown, int] = defaultdict(int)
        for unit in self.units:
            for sort in set(_unknown(unit)):
                found[sort] += 1
        found["stock-without-lot"] = sum(not one.certain for one in self.stock)
        return {sort: count for sort, count in found.items() if count}


def known(question: Question) -> dict[str, Campaign]:
    """Give the recalls opened by the moment, as known."""
    rows = [row for row in question.known.rows if row.seq <= question.judged_to]
    return campaigns(rows, question.world, question.as_at)


async def impact(
    question: Question, openings: Sequence[Opening], sites: frozenset[str] | None, campaign: Campaign | None = None
) -> Impact:
    """Find what openings of a recall speak of, at these sites (None: all)."""
    kins = await kins_recalled(question.conn, question.organisation, openings, question.world.rulebook)
    found = [
        (lived, told)
        for lived in await lives(question, kins)
        if (told := touched(lived.life, openings)) is not None and (sites is None or lived.standing.site in sites)
    ]
    spoken = await spoken_since(
        question.conn,
        question.organisation,
        [lived.life.unit.tag for lived, _ in found],
        since=openings[0].at,
        at=question.as_at,
        until_seq=question.judged_to,
    )
    units = tuple(_reached(lived, told, openings, spoken.get(lived.life.unit.tag)) for lived, told in found)
    stock = await spare_stock(question, [one for opening in openings for one in opening.criteria])
    there = tuple(one for one in stock if sites is None or one.site in sites)
    return Impact(tuple(openings), units, there, campaign)


def _reached(lived: Lived, told: Touched, openings: Sequence[Opening], spoken: Spoken | None) -> Reached:
    unit, opened, recall = lived.life.unit, openings[0].at, openings[0].recall
    away = put_away(unit)
    located = None if unit.missing or spoken is None else spoken.first
    held = [cause.at for cause in unit.held if cause.reason == "recall" and cause.recall == recall]
    return Reached(
        lived,
        told,
        last_spoken_at=None if spoken is None else spoken.last,
        located_at=min((at for at in (located, away) if at is not None and at >= opened), default=None),
        stopped_at=min(held, default=None),
        put_away_at=away,
        remedied_at=None if told.affected else _remedied(lived, told, recall, opened),
    )


def _remedied(lived: Lived, told: Touched, recall: str, opened: datetime) -> datetime | None:
    """Give when the last of what a recall had reached was dealt with; None where it never reached anything there."""
    unit = lived.life.unit
    reached = [sitting for sitting in told.sittings if sitting.until is None or sitting.until > opened]
    ends = [sitting.until for sitting in reached if sitting.until is not None]
    acts = [at for at in (unit.fixed.get(recall), unit.not_affected.get(recall)) if at is not None and at > opened]
    return max((*ends, *acts), default=None) if reached else None


def _unknown(unit: Reached) -> Iterator[Unknown]:
    for sitting in unit.touched.sittings:
        if not sitting.certain:
            yield "not-stated" if sitting.item else "made-or-received" if sitting.position is None else "nothing-said"
    if any(hand.holder.person is None for hand in unit.touched.hands):
        yield "holder-not-a-person"
    if unit.outstanding and unit.located_at is None:
        yield "not-located"


class Counts(msgspec.Struct, frozen=True):
    """How many units a recall speaks of or spoke of, and how far they have been dealt with."""

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
        once=len(every) - len(affected),
        located=sum(one.located_at is not None for one in every),
        stopped=sum(one.stopped_at is not None for one in every),
        put_away=sum(one.put_away_at is not None for one in every),
        remedied=sum(one.remedied_at is not None for one in every),
        outstanding=sum(one.outstanding for one in every),
        missing=sum(one.lived.life.unit.missing and not one.lived.life.unit.retired for one in every),
        retired=sum(one.lived.life.unit.retired for one in every),
        silent=sum(one.outstanding and one.located_at is None for one in every),
    )


def by_site(units: Iterable[Reached]) -> dict[str, list[Reached]]:
    """Group units by site."""
    found: dict[str, list[Reached]] = {}
    for one in sorted(units, key=lambda unit: (unit.site, unit.lived.life.unit.tag)):
        found.setdefault(one.site, []).append(one)
    return found


def unit_of(reached: Reached) -> UUID:
    """Give the unit's id."""
    return reached.lived.life.unit.unit
