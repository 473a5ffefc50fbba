"""Recalls: what is known of them, and what each has done to units, people and stock."""

from collections.abc import Iterator, Sequence
from datetime import datetime
from typing import NamedTuple
from uuid import UUID

from msgspec.structs import replace

from service.assessing.aside import aside
from service.assessing.moment import Question
from service.assessing.recall_acts import Said, acts_of_components, said_of_units
from service.assessing.recall_course import Wheres, courses, gone, passed
from service.assessing.recall_done import Bearers, Told, reached_of, told_of
from service.assessing.recall_reached import Impact, Reached, exposing_at
from service.assessing.recall_spoken import units_spoken_of
from service.assessing.seated import seated
from service.assessing.spare_stock import spare_stock
from service.assessing.whereabouts import Where, whereabouts
from service.domain.recall.asking import Asking
from service.domain.recall.campaign import Campaign, campaigns
from service.domain.recall.impact import Life, touched
from service.domain.recall.opening import Opening, criteria_standing
from service.domain.recall.progress import Course
from service.domain.recall.spare import Spare
from service.domain.recall.spells import spells
from service.domain.unit import Unit


def known(question: Question) -> dict[str, Campaign]:
    """Give the recalls opened by the moment, as known."""
    rows = [row for row in question.known.rows if row.seq <= question.judged_to]
    return campaigns(rows, question.world, question.as_at)


async def impact(
    question: Question, openings: Sequence[Opening], sites: frozenset[str] | None, campaign: Campaign | None = None
) -> Impact:
    """Find what openings of a recall speak of, at these sites (None: all), and how those that left went on there.

    The stock is found first: what tells of it is let go before the units are there.
    """
    stock, arriving = await _stock(question, openings, sites)
    asking = Asking(openings)
    there = await units_spoken_of(question, openings, asking)
    many = len(there.spoken)
    acts = await acts_of_components(question, (lived for lived, _ in there.spoken), there.entangled)
    bearers = Bearers.of(acts, {lived.life.unit.unit: lived for lived in there.entangled} if acts else {})
    every = await aside(many, lambda: [told_of(lived, told, asking, bearers) for lived, told in there.spoken])
    wheres = {} if campaign is None else await _wheres(question, every, openings[0].at)
    found = await aside(many, lambda: _found(every, wheres, sites))
    asked = await aside(many, lambda: [(one.lived, tuple([spell.earliest for spell in one.spells])) for one in found])
    said = await said_of_units(question, asked, None if campaign is None else asking.recall, acts)
    going = _Going(asking.recall, wheres, campaign is not None and campaign.rehearsal)
    reached = await aside(many, lambda: [_reached(*one, going) for one in zip(found, said, strict=True)])
    return await aside(
        many,
        lambda: Impact(
            tuple(openings),
            units=tuple([one for told, one in zip(found, reached, strict=True) if told.is_at(sites)]),
            stock=stock,
            exposing=tuple(exposing_at((one.touched for one in every), sites)),
            courses=tuple([course.at(sites) for course in _courses(found, reached, going)]),
            campaign=campaign,
            expected=tuple(life.unit.site for life in there.expected if _is_expected(life, asking, sites)),
            arriving=arriving,
            doubtful=tuple(_doubtful(every, bearers, sites)),
        ),
    )


class _Going(NamedTuple):
    """A recall, and where its units were, if anybody opened it."""

    recall: str
    wheres: Wheres
    rehearsal: bool


def _found(every: Sequence[Told], wheres: Wheres, sites: frozenset[str] | None) -> list[Told]:
    """Give the units that are at the sites, and those that were while they were under the recall."""
    return [one for one in every if one.is_at(sites) or (wheres and sites and passed(one, wheres, sites))]


def _reached(told: Told, said: Said, going: _Going) -> Reached:
    """Say how far a unit has been dealt with."""
    is_gone = bool(going.wheres) and gone(told, going.wheres)
    return reached_of(told, _since(told, said), going.recall, rehearsal=going.rehearsal, gone=is_gone)


def _courses(found: Sequence[Told], reached: Sequence[Reached], going: _Going) -> Iterator[Course]:
    """Tell how units went on under a recall that was opened."""
    for one, done in zip(found, reached, strict=True) if going.wheres else ():
        yield from courses(one, done.spells, going.wheres, rehearsal=going.rehearsal)


def _doubtful(every: Sequence[Told], bearers: Bearers, sites: frozenset[str] | None) -> Iterator[str]:
    """Name the sites of units in which a component may be that is under the recall and told in another."""
    for one in every if bearers.every else ():
        unit, at = one.lived.life.unit, one.lived.life.at
        hosts = bearers.doubtful(unit.unit, at) if one.touched.affected and not unit.retired else ()
        found = (host.standing.site for host in hosts if not host.life.unit.retired)
        yield from (site for site in found if sites is None or site in sites)


def _since(told: Told, said: Said) -> Said:
    """Let who had a unit in hand on the day on which it came under the recall have found it as that counts."""
    if not any(said.sighted):
        return said
    pairs = zip(said.sighted, told.spells, strict=True)
    return replace(said, sighted=tuple(None if at is None else max(at, spell.since) for at, spell in pairs))


def _is_expected(life: Life, asking: Asking, sites: frozenset[str] | None) -> bool:
    """Say whether a unit that is registered on a day which is not over will be under the recall, at these sites."""
    told = touched(life, asking)
    return told is not None and told.affected and (sites is None or life.unit.site in sites)


async def _wheres(question: Question, every: Sequence[Told], since: datetime) -> dict[UUID, list[Where]]:
    """Give where the units of a campaign were, and those that they sat in."""
    hosts = [lodging.host for one in every for lodging in one.lodgings]
    return await whereabouts(question, [*(one.lived for one in every), *hosts], since)


async def outstanding(question: Question, openings: Sequence[Opening]) -> list[tuple[Unit, datetime]]:
    """Find the units with something still to be done about, each since when at the earliest.

    What is retired is dealt with.

    A component is told with the site of the unit that it is fitted in.
    """
    asking = Asking(openings)
    there = await units_spoken_of(question, openings, asking)
    expected = ((life, touched(life, asking)) for life in there.expected)
    every = [*((lived.life, told) for lived, told in there.spoken), *expected]
    found = [
        (life.unit, spells(life.unit, told, asking.recall)[-1].earliest)
        for life, told in every
        if told is not None and told.affected and not life.unit.retired
    ]
    kin = (life.unit for life in (*(lived.life for lived in there.entangled), *there.expected))
    units = await seated(question, [unit for unit, _ in found], kin)
    return [(unit, earliest) for unit, (_, earliest) in zip(units, found, strict=True)]


async def _stock(
    question: Question, openings: Sequence[Opening], sites: frozenset[str] | None
) -> tuple[tuple[Spare, ...], tuple[Spare, ...]]:
    """Find the spare stock that the openings speak of which nobody has taken back: it may be fitted again.

    That is all of it, and what of it is told by days that are not over.
    """
    there, arriving = await spare_stock(question, criteria_standing(openings, question.as_at))
    all_of, ahead = ([one for one in told if sites is None or one.site in sites] for told in (there, arriving))
    return tuple(sorted((*all_of, *ahead), key=lambda one: (one.site, one.item))), tuple(ahead)
