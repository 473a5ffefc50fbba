"""How far recalls have come at each site, day by day, against what is counted when each day is asked about alone."""

from bisect import bisect_right
from collections.abc import Iterable, Iterator
from datetime import date, datetime, timedelta
from typing import NamedTuple
from uuid import UUID, uuid4

import pytest
from msgspec.structs import replace

from service.assessing.lives import Lived
from service.assessing.moment import Question, asked
from service.assessing.recall_counts import counted
from service.assessing.recall_reached import Impact
from service.assessing.recalls import impact, known
from service.assessing.whereabouts import Where, whereabouts
from service.domain.calendar import day_end
from service.domain.intervals import MOMENT
from service.domain.recall.progress import STEPS, Day, progress
from service.ledger import Ledger
from tests.oracle.histories import random_history
from tests.oracle.posting import Posted
from tests.use.lived import lived_by_then
from tests.use.posting import caller_of, post

OFFICE = caller_of("office")
Sites = frozenset[str] | None


async def found_at(question: Question, name: str, at: datetime, sites: Sites = None) -> Impact:
    """Ask what a recall had done as at a moment."""
    then = replace(question, as_at=at)
    campaign = known(then)[name]
    return await impact(then, campaign.openings, sites, campaign)


def last(series: list[Day], day: date) -> tuple[int, ...]:
    """Give what a series says of a day: the last row by then, nothing before the first."""
    nth = bisect_right([row.day for row in series], day)
    return tuple(0 if nth == 0 else getattr(series[nth - 1], step) for step in STEPS)


def days(first: date, until: date) -> Iterator[date]:
    """Give every day of a period."""
    for nth in range((until - first).days + 1):
        yield first + timedelta(days=nth)


async def differing(question: Question, name: str, end: datetime) -> list[str]:
    """Compare the series of a recall with what is counted at the end of each of its days, site by site."""
    found = await found_at(question, name, end)
    told = progress(found.courses, question.world.day)
    campaign, wrong = known(question)[name], []
    for site in sorted({row.site for row in told} | set(found.sites)):
        series = [row for row in told if row.site == site]
        zone = question.world.zone_on(site, end.date())
        for day in days(campaign.at.date(), end.date()):
            at = min(day_end(day, zone) - MOMENT, end)
            if at >= campaign.at:
                ((_, there),) = (await found_at(question, name, at)).at_each([site])
                counts = counted(there).total
                expected = tuple(getattr(counts, step) for step in STEPS)
                if last(series, day) != expected:
                    wrong.append(f"{name} {site} {day}: {last(series, day)} is told, {expected} counted")
    return wrong


BY_ITSELF = frozenset({"registered", "retagged", "moved", "received", "recall-actioned"})
"""What is told of components here: when one lay quarantined by itself is told of the present alone."""


def plain(posted: Iterable[Posted]) -> Iterator[Posted]:
    """Leave out what by its meaning tells the past otherwise than it looked then.

    A remedy that is told again counts when it is told last, and what was not affected may turn out to be another part;
    what let a unit go after a voiding is told of no day. What a registration again says of a unit's days and parts was
    so before.
    """
    every = list(posted)
    openings = {one.message["id"] for one in every if one.message["kind"] == "recall-opened"}
    components = {one.message["asset"] for one in every if one.message.get("fitted_to")}
    first = first_registrations(every)
    remedied: dict[tuple[str, str], str] = {}
    for said in (one.message for one in every):
        if said["kind"] == "recall-actioned":
            remedied.setdefault((said["asset"], said["recall"]), said["id"])
    for one in every:
        said = one.message
        again = said["kind"] == "recall-actioned" and (
            said["result"] == "not-affected" or said["id"] not in remedied.values()
        )
        voiding = said["kind"] == "voided" and said["event"] in openings
        beside = said.get("asset") in components and said["kind"] not in BY_ITSELF
        later = said["kind"] == "registered" and said["id"] not in first
        known_late = later and not {"made_on", "acquired_on", "parts"}.isdisjoint(said)
        if not (again or voiding or beside or known_late):
            yield one


def first_registrations(every: Iterable[Posted]) -> set[str]:
    """Name the first registration of each serial number."""
    registered = [one.message for one in every if one.message["kind"] == "registered"]
    in_turn = sorted(registered, key=lambda said: str(said.get("occurred_at") or said["occurred_on"]), reverse=True)
    return set({said["serial"].upper(): str(said["id"]) for said in in_turn}.values())


@pytest.mark.parametrize("seed", [0, 1, 3])
async def test_each_day_is_what_is_counted_when_it_is_asked_about(ledger: Ledger, seed: int) -> None:
    """Units move, come and go, are missing, retired and taken back: the series tells what was so on each day."""
    history = random_history(seed, 150)
    end = max(one.received_at for one in history.posted)
    await post(ledger, [*plain(history.posted)])
    async with asked(ledger, OFFICE, end) as question:
        for name in known(question):
            assert await differing(question, name, end) == []


class Went(NamedTuple):
    """Units of a recall, where they were since it was opened, and its series."""

    units: list[Lived]
    places: dict[UUID, list[Where]]
    series: list[Day]


async def went(question: Question) -> dict[str, Went]:
    """Tell by recall how it went on."""
    told: dict[str, Went] = {}
    for name, campaign in known(question).items():
        units = await lived_by_then(question, campaign.openings)
        places = await whereabouts(question, units, campaign.at)
        courses = (await found_at(question, name, question.as_at)).courses
        told[name] = Went(units, places, progress(courses, question.world.day))
    return told


def cleaned(lived: Lived, at: datetime) -> Posted:
    """Wipe a unit."""
    wiped = {"kind": "cleaned", "asset": lived.life.unit.tag, "scope": "unit", "method": "wiped", "by": "p-1"}
    return Posted({"id": str(uuid4()), "occurred_at": at.isoformat()} | wiped, at, at)


@pytest.mark.parametrize("seed", range(4))
async def test_the_past_is_told_alike_when_it_is_folded_again(ledger: Ledger, seed: int) -> None:
    """Something happens to every unit later: where units were, and the days told of a recall, are the same before."""
    history = random_history(seed + 10, 150)
    end = max(one.received_at for one in history.posted)
    await post(ledger, history.posted)
    async with asked(ledger, OFFICE, end) as question:
        stored = await went(question)
    assert stored
    await post(ledger, [cleaned(lived, end + timedelta(days=1)) for one in stored.values() for lived in one.units])
    async with asked(ledger, OFFICE, end) as question:
        folded = await went(question)
    assert not all(lived.turns for one in stored.values() for lived in one.units)
    assert all(lived.turns for one in folded.values() for lived in one.units)
    assert [(name, one.places, one.series) for name, one in stored.items()] == [
        (name, one.places, one.series) for name, one in folded.items()
    ]
