"""The summary: all sites at one moment, as known at another."""

from collections.abc import Iterable
from datetime import datetime, timedelta
from uuid import UUID

from service.assessing.loosened import loosened_rules
from service.assessing.moment import Question
from service.assessing.stories import Past, Stretch, past, stretches, uses_going_on
from service.domain.calendar import DAY, local_day, month_start
from service.domain.profile import profile
from service.domain.tally import COMPLIANT, Alike, Days, Tally
from service.store.uses_made import uses_made

MOMENT = timedelta(microseconds=1)


async def summary(question: Question, sites: frozenset[str] | None) -> dict[str, object]:
    """Sum up the sites named, or all of them."""
    folded = await past(question)
    names = _sites(question, sites)
    tallies = {name: Tally() for name in names}
    places: dict[UUID, str] = {}
    for stretch in await stretches(question, folded, question.as_at, question.as_at + MOMENT, sites):
        places[stretch.unit] = stretch.interval.site
        tallies.setdefault(stretch.interval.site, Tally()).count(_alike(stretch))
    months = {name: month_start(question.as_at, question.world.zone(name, question.as_at)) for name in tallies}
    await _count_uses(question, folded, tallies, months)
    await _count_days(question, folded, tallies, months)
    total = Tally()
    for tally in tallies.values():
        total.add(tally)
    return {
        **question.about(),
        "total": total.shown(),
        "sites": [{**_site(question, name), **tallies[name].shown()} for name in sorted(tallies)],
        "loosened_rules": question.told(await loosened_rules(question, sites, places)),
        "next": None,
    }


def _sites(question: Question, sites: frozenset[str] | None) -> Iterable[str]:
    """Name the sites known then; a site that is asked for and not known has no line."""
    known = {row.event.site for row in question.known.rows if row.event.kind == "site-defined" and row.event.site}
    defined = {name for name in known if question.world.rulebook.site(name, question.as_at) is not None}
    return sorted(defined if sites is None else defined & sites)


def _alike(stretch: Stretch) -> Alike:
    one = stretch.interval
    return Alike(one.site, one.phase, one.in_scope, one.standing, one.rules)


async def _count_uses(question: Question, folded: Past, tallies: dict[str, Tally], months: dict[str, datetime]) -> None:
    """Count the uses of the local month up to and including the moment (R15)."""
    end = question.as_at + MOMENT
    periods = [(site, since, end) for site, since in months.items()]
    for row in await uses_made(question.conn, question.organisation, periods, without=folded.units):
        tallies[row.site].count_uses(covered=row.covered, of=row.made)
    for use in await uses_going_on(question, folded, end):
        if use.site in months and months[use.site] <= use.at < end:
            tallies[use.site].count_uses(covered=int(use.covered_before(end)), of=1)


async def _count_days(question: Question, folded: Past, tallies: dict[str, Tally], months: dict[str, datetime]) -> None:
    """Count the unit-days of the local month up to and including the moment (R15)."""
    if not months:
        return
    days, end = Days(), question.as_at + MOMENT
    for stretch in await stretches(question, folded, min(months.values()), end, frozenset(months)):
        one = stretch.interval
        if not one.in_scope or one.until <= months[one.site]:
            continue
        zone = question.world.zone(one.site, question.as_at)
        day = local_day(max(one.since, months[one.site]), zone)
        last = local_day(min(one.until, end) - MOMENT, zone)
        while day <= last:
            days.note(one.site, stretch.unit, day, compliant=one.standing in COMPLIANT)
            day += DAY
    for site, (compliant, of) in days.by_site().items():
        tallies[site].count_days(compliant=compliant, of=of)


def _site(question: Question, name: str) -> dict[str, object]:
    """Say what a site is, and how far the rules of its jurisdiction are known."""
    site = question.world.rulebook.site(name, question.as_at)
    if site is None:
        return {"site": name, "name": None, "profile": None, "profile_complete": False, "time_zone": "UTC"}
    day = local_day(question.as_at, question.world.zone(name, question.as_at))
    return {
        "site": name,
        "name": site.name,
        "region": site.region,
        "profile": site.profile,
        "profile_complete": profile(site.profile).complete,
        "time_zone": site.time_zone,
        "closed": site.closed_on is not None and day > site.closed_on,
    }
