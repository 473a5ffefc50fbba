"""The summary: all sites at one moment, as known at another, and the same numbers grouped otherwise."""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from datetime import datetime
from typing import Literal
from uuid import UUID
from zoneinfo import ZoneInfo

import msgspec

from service.assessing.loosened import loosened_rules
from service.assessing.moment import Question
from service.assessing.named import demand_model
from service.assessing.stories import Past, folded_again, past, uses_going_on
from service.domain.calendar import DAY, day_start, local_day, month_start
from service.domain.intervals import MOMENT, Interval
from service.domain.profile import profile
from service.domain.standing import FOREVER
from service.domain.tally import COMPLIANT, Alike, Tally
from service.recording.rows import unpacked
from service.store.standing_counts import standing_counts
from service.store.unit_days import Span, Stretch, unit_days
from service.store.uses_made import uses_made
from service.store.uses_made_of_models import uses_made_of_models
from service.store.uses_to_come import uses_to_come

GroupedBy = Literal["region", "profile", "model"]
Key = tuple[str, str]
"""A site and a model; the model is "" where nothing was asked of models."""


class Summed(msgspec.Struct, frozen=True, kw_only=True):
    """What is summed up: sites (None is all), the units of one model, and how the sums are grouped beside sites."""

    sites: frozenset[str] | None = None
    model: str | None = None
    group_by: GroupedBy | None = None

    @property
    def tells_models_apart(self) -> bool:
        """Say whether models have to be counted apart."""
        return self.model is not None or self.group_by == "model"


async def summary(question: Question, summed: Summed) -> dict[str, object]:
    """Sum up what is asked for. Raises NotFound for a model that there is not."""
    demand_model(question, summed.model)
    folded = await past(question)
    names = _sites(question, summed.sites)
    tallies: defaultdict[Key, Tally] = defaultdict(Tally)
    await _count_units(question, folded, tallies, summed)
    sites = {*names, *(site for site, _ in tallies)}
    months = {name: month_start(question.as_at, question.world.zone(name, question.as_at)) for name in sites}
    await _count_uses(question, folded, tallies, months, summed)
    await _count_days(question, folded, tallies, months, summed)
    wanted = {key: tally for key, tally in tallies.items() if summed.model in {None, key[1]}}
    by_site = _sums((site, tally) for (site, _), tally in wanted.items())
    return {
        **question.about(),
        "total": _sums(("", tally) for tally in wanted.values())[""].shown(),
        "sites": [{**_site(question, name), **by_site[name].shown()} for name in sorted({*names, *by_site})],
        **_groups(question, wanted, summed),
        "loosened_rules": question.told(await loosened_rules(question, folded, summed.sites)),
        "next": None,
    }


def _sums(named: Iterable[tuple[str, Tally]]) -> defaultdict[str, Tally]:
    """Add tallies up by name."""
    sums: defaultdict[str, Tally] = defaultdict(Tally)
    for name, tally in named:
        sums[name].add(tally)
    return sums


def _groups(question: Question, tallies: Mapping[Key, Tally], summed: Summed) -> dict[str, object]:
    """Give the sums by what was asked for, in order of name; what has none (a site without region) is null, last."""
    if summed.group_by is None:
        return {}
    named = ((_group(question, key, summed.group_by), tally) for key, tally in tallies.items())
    sums = _sums(named)
    order = sorted(sums, key=lambda name: (not name, name))
    return {"groups": [{"group": name or None, **sums[name].shown()} for name in order]}


def _group(question: Question, key: Key, by: GroupedBy) -> str:
    name, model = key
    if by == "model":
        return model
    site = question.world.rulebook.site(name, question.as_at)
    found = None if site is None else site.region if by == "region" else site.profile
    return found or ""


def _sites(question: Question, sites: frozenset[str] | None) -> Iterable[str]:
    """Name the sites known then; a site that is asked for and not known has no line."""
    known = {row.event.site for row in question.known.rows if row.event.kind == "site-defined" and row.event.site}
    defined = {name for name in known if question.world.rulebook.site(name, question.as_at) is not None}
    return sorted(defined if sites is None else defined & sites)


async def _count_units(question: Question, folded: Past, tallies: defaultdict[Key, Tally], summed: Summed) -> None:
    """Count the units as they stand at the moment."""
    for row in await standing_counts(
        question.conn,
        question.organisation,
        question.as_at,
        sites=summed.sites,
        models=summed.tells_models_apart,
        without=folded.units,
    ):
        alike = Alike(row.phase, row.in_scope, row.standing, unpacked(row.rules)[0], row.units)
        tallies[row.site, row.model].count(alike)
    for stretch in folded_again(folded, question.as_at, question.as_at + MOMENT, summed.sites):
        one = stretch.interval
        key = one.site, one.model if summed.tells_models_apart else ""
        tallies[key].count(Alike(one.phase, one.in_scope, one.standing, one.rules))


async def _count_uses(
    question: Question,
    folded: Past,
    tallies: defaultdict[Key, Tally],
    months: dict[str, datetime],
    summed: Summed,
) -> None:
    """Count the uses of the local month up to and including the moment (R15); a unit's uses are those of its model."""
    end = question.as_at + MOMENT
    periods = [(site, since, end) for site, since in months.items()]
    read = uses_made_of_models if summed.tells_models_apart else uses_made
    for row in await read(question.conn, question.organisation, periods, without=folded.units):
        tallies[row.site, row.model].count_uses(covered=row.covered, of=row.made)
    for row in await uses_to_come(
        question.conn,
        question.organisation,
        [*months.items()],
        end,
        models=summed.tells_models_apart,
        without=folded.units,
    ):
        tallies[row.site, row.model].count_uses(covered=row.covered, of=row.made)
    for model, use in await uses_going_on(question, folded, end):
        if use.site in months and months[use.site] <= use.at < end:
            key = use.site, model if summed.tells_models_apart else ""
            tallies[key].count_uses(covered=int(use.covered_before(end)), of=1)


async def _count_days(
    question: Question,
    folded: Past,
    tallies: defaultdict[Key, Tally],
    months: dict[str, datetime],
    summed: Summed,
) -> None:
    """Count the unit-days of the local month up to and including the moment (R15)."""
    if not months:
        return
    end = question.as_at + MOMENT
    zones = {site: question.world.zone(site, question.as_at) for site in months}
    begins = {zone.key: tuple(_days(months[site], end, zone)) for site, zone in zones.items()}
    again = folded_again(folded, min(months.values()), end, months)
    for row in await unit_days(
        question.conn,
        question.organisation,
        Stretch(begins, {site: zone.key for site, zone in zones.items()}, end),
        compliant=COMPLIANT,
        models=summed.tells_models_apart,
        instead=[_span(one.unit, one.interval) for one in again if one.interval.in_scope],
        without=folded.units,
    ):
        tallies[row.site, row.model].count_days(compliant=row.compliant, of=row.every)


def _days(since: datetime, end: datetime, zone: ZoneInfo) -> Iterator[datetime]:
    """Give the beginnings of the local days from one on, up to a moment."""
    day = local_day(since, zone)
    while (begins := day_start(day, zone)) < end:
        yield begins
        day += DAY


def _span(unit: UUID, one: Interval) -> Span:
    until = None if one.until == FOREVER else one.until
    return Span(unit, one.site, one.model, one.since, until, one.standing in COMPLIANT)


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
