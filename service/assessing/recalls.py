"""Recalls: what is known of them, and what each has done to units, people and stock."""

from collections.abc import Iterable, Iterator, Sequence
from datetime import datetime
from itertools import chain
from uuid import UUID

from msgspec.structs import replace

from service.assessing.aside import aside
from service.assessing.lives import Lived, lives
from service.assessing.moment import Question
from service.assessing.recall_acts import Said, entangled, said_of_units
from service.assessing.recall_course import courses, gone, passed
from service.assessing.recall_done import Bearers, Told, reached_of, told_of
from service.assessing.recall_reached import Impact, Reached, exposing_at
from service.assessing.seated import seated
from service.assessing.spare_stock import spare_stock
from service.assessing.spoken_of import kins_spoken_of
from service.assessing.whereabouts import Where, whereabouts
from service.domain.recall.asking import Asking
from service.domain.recall.campaign import Campaign, campaigns
from service.domain.recall.followed import lots_told
from service.domain.recall.impact import Life, Touched, touched
from service.domain.recall.opening import Opening, criteria_standing
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
    """Find what openings of a recall speak of, at these sites (None: all), and how those that left went on there."""
    asking = Asking(openings)
    there = await lives(question, await kins_spoken_of(question, openings))
    every = _following(there.every)
    reached = await aside(len(every), lambda: [*_reached(every, asking)])
    acts = await entangled(question, every)
    bearers = Bearers.of(acts, {lived.life.unit.unit: lived for lived in every} if acts else {})
    every_told = await aside(len(reached), lambda: [told_of(lived, told, asking, bearers) for lived, told in reached])
    wheres = {} if campaign is None else await _wheres(question, every_told, openings[0].at)
    found = [one for one in every_told if one.is_at(sites) or (wheres and sites and passed(one, wheres, sites))]
    asked = [(one.lived, [spell.earliest for spell in one.spells]) for one in found]
    said = await said_of_units(question, asked, None if campaign is None else asking.recall, acts)
    rehearsal = campaign is not None and campaign.rehearsal

    def done(one: Told, what: Said) -> Reached:
        is_gone = bool(wheres) and gone(one, wheres)
        return reached_of(one, _since(one, what), asking.recall, rehearsal=rehearsal, gone=is_gone)

    pairs = await aside(len(found), lambda: [(one, done(one, what)) for one, what in zip(found, said, strict=True)])
    went = (courses(one, reached.spells, wheres, rehearsal=rehearsal) for one, reached in pairs if wheres)
    stock, arriving = await _stock(question, openings, sites)
    return Impact(
        tuple(openings),
        units=tuple(reached for one, reached in pairs if one.is_at(sites)),
        stock=stock,
        exposing=tuple(exposing_at((one.touched for one in every_told), sites)),
        courses=tuple(course.at(sites) for mine in went for course in mine),
        campaign=campaign,
        expected=tuple(life.unit.site for life in there.expected if _is_expected(life, asking, sites)),
        arriving=arriving,
        doubtful=tuple(_doubtful(every_told, bearers, sites)),
    )


def _reached(every: Iterable[Lived], asking: Asking) -> Iterator[tuple[Lived, Touched]]:
    """Give the units that the openings speak of, or once did, with what they say."""
    for lived in every:
        told = touched(lived.life, asking)
        if told is not None:
            yield lived, told


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


def _following(every: Sequence[Lived]) -> list[Lived]:
    """Let each part that was followed by its serial number be known by what was told of it in any of the units."""
    lots = lots_told(chain.from_iterable([lived.life.stays for lived in every]))
    return [replace(lived, life=replace(lived.life, lots=lots)) for lived in every] if lots else [*every]


async def outstanding(question: Question, openings: Sequence[Opening]) -> list[tuple[Unit, datetime]]:
    """Find the units with something still to be done about, each since when at the earliest.

    What is retired is dealt with.

    A component is told with the site of the unit that it is fitted in.
    """
    asking = Asking(openings)
    found: list[tuple[Unit, datetime]] = []
    there = await lives(question, await kins_spoken_of(question, openings))
    every = [*(lived.life for lived in there.every), *there.expected]
    for life in every:
        told = touched(life, asking)
        if told is not None and told.affected and not life.unit.retired:
            found.append((life.unit, spells(life.unit, told, asking.recall)[-1].earliest))
    units = await seated(question, [unit for unit, _ in found], (life.unit for life in every))
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
