"""The rules about filters and listed parts, and how long a part may serve."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, datetime, timedelta

from tests.oracle import clock, wearing
from tests.oracle.asking import (
    DO_NOT_USE,
    DUE_SOON,
    OUT,
    OVERDUE,
    Answer,
    Ask,
    worst,
)
from tests.oracle.parts import Fitted, changes, fitted
from tests.oracle.record import Message
from tests.oracle.story import Story

FILTERS = ("particle", "gas", "pre-filter", "spark-arrestor")


def filter_life(ask: Ask) -> Answer:
    """Judge loading, service limits, shelf life and change schedules of the filters fitted."""
    positions = [found for found in ask.model.get("positions") or [] if found["role"] in FILTERS]
    if not positions:
        return Answer(OUT)
    now = fitted(ask.story, ask.n)
    found: list[tuple[str, str]] = []
    for position in positions:
        if loaded(ask, position):
            found.append((OVERDUE, "loading"))
        part = now.get(position["position"])
        if part is not None and part.part is not None:
            found.extend(dated(ask, part))
            found.extend(worked(ask, part))
            if position["role"] == "gas":
                found.extend(scheduled(ask, part))
    return worst(found)


def loaded(ask: Ask, position: Message) -> bool:
    """Say whether the last loading read since the fitting is at the change mark."""
    limit = (ask.model.get("loading") or {}).get("change_at")
    since = fitted(ask.story, ask.n).get(position["position"])
    for index in ask.story.back(ask.n, since.nth + 1 if since else 0):
        fact = ask.story.facts[index]
        read = None if fact.echo else fact.get("filter_loading")
        level = read.get(position["position"]) if isinstance(read, dict) else read
        if level is not None and (isinstance(read, dict) or position["role"] == "particle"):
            return limit is not None and bool(level >= limit)
    return False


def item_of(ask: Ask, part: Fitted) -> Message:
    """Give the item a part is, empty where nobody defined it."""
    return ask.story.world.book.thing("item", (part.part or {}).get("item"), ask.at) or {}


def opened(ask: Ask, part: Fitted, *, sealed: bool) -> date | None:
    """Give the day a filter was opened: as stated, else by the first use if sealed, else by its fitting."""
    story = ask.story
    stated = (part.part or {}).get("opened_on")
    zone = story.world.book.zone_at(story.site(ask.n), ask.at)
    days = []
    if stated is not None and date.fromisoformat(stated) <= clock.local_day(ask.at, zone):
        days.append(date.fromisoformat(stated))
    if not sealed or (part.part or {}).get("condition") == "refitted":
        days.append(part.fact.local_day)
    used = [(use.at, use.site) for use in uses_of(ask, part)]
    if worn_through(story, part):
        used.append((part.fact.at, story.site(part.nth + 1)))
    if sealed and used:
        days.append(min(clock.local_day(at, story.world.book.zone_at(site, at)) for at, site in used))
    return min(days, default=None)


def worn_through(story: Story, part: Fitted) -> bool:
    """Say whether a wearing went on as a part was fitted."""
    return any(start <= part.fact.at < end for start, end in wearings(story))


def uses_of(ask: Ask, part: Fitted) -> list[wearing.Use]:
    """List the uses since a part was fitted, among what has happened."""
    return [use for use in wearing.uses(ask.story, ask.at) if part.nth < use.n <= ask.n and use.at >= part.fact.at]


def limits(ask: Ask, part: Fitted) -> list[tuple[date, str, str]]:
    """List the last days of a part, with the standing and reason that follow them."""
    found = []
    stated = part.part or {}
    item = item_of(ask, part)
    sealed = part.role == "gas"
    if stated.get("expires"):
        found.append((clock.expiry_day(stated["expires"]), DO_NOT_USE, "expired"))
    days = (item.get("service_limit") or {}).get("days")
    if days is not None:
        found.append((started(part) + timedelta(days=days), OVERDUE, "service-limit"))
    begun = opened(ask, part, sealed=sealed)
    if item.get("after_opening_days") is not None and begun is not None:
        found.append((begun + timedelta(days=item["after_opening_days"]), OVERDUE, "service-limit"))
    return found


def started(part: Fitted) -> date:
    """Give the day a part's service began: a refitted one's when it was opened, if that is known."""
    stated = part.part or {}
    if stated.get("condition") == "refitted" and stated.get("opened_on"):
        return date.fromisoformat(stated["opened_on"])
    return part.fact.local_day


def dated(ask: Ask, part: Fitted, *, warn: bool = True) -> list[tuple[str, str]]:
    """Judge a part by the dates that end its life."""
    story = ask.story
    found = []
    soon = story.setting("filter-life", "due_soon", ask.n, ask.at)
    for day, standing, reason in limits(ask, part):
        zone = story.due_zone(ask.n, day)
        if ask.at >= clock.day_end(day, zone):
            found.append((standing, reason))
        elif warn and ask.at >= clock.before_day_end(day, soon, zone):
            found.append((DUE_SOON, ""))
    return found


def worked(ask: Ask, part: Fitted) -> list[tuple[str, str]]:
    """Judge a part by the hours and shifts it has served."""
    limit = item_of(ask, part).get("service_limit") or {}
    over = []
    if limit.get("hours") is not None:
        over.append(hours_worn(ask.story, part.fact.at, ask.at) >= timedelta(hours=limit["hours"]))
    if limit.get("shifts") is not None:
        over.append(sum(use.serves for use in uses_of(ask, part)) > limit["shifts"])
    return [(OVERDUE, "service-limit")] if any(over) else []


def wearings(story: Story) -> list[tuple[datetime, datetime]]:
    """List the starts and ends of the wearings that were posted with an end."""
    return [
        (fact.at, wearing.worn_until(story, index))
        for index, fact in enumerate(story.facts)
        if fact.kind == "worn" and not story.dead(index)
    ]


def hours_worn(story: Story, since: datetime, at: datetime) -> timedelta:
    """Add up the time worn from one instant to another."""
    spans = [min(end, at) - max(start, since) for start, end in wearings(story)]
    return sum((span for span in spans if span > timedelta()), timedelta())


def scheduled(ask: Ask, part: Fitted) -> list[tuple[str, str]]:
    """Judge whether an opened gas filter has any schedule for its change (29 CFR 1910.134(d)(3)(iii)(B))."""
    item = item_of(ask, part)
    if item.get("service_limit") or item.get("after_opening_days") is not None:
        return []
    return [(DO_NOT_USE, "no-schedule")] if opened(ask, part, sealed=True) else []


def last_days(story: Story) -> Iterator[date]:
    """List every day that may end the life of a part ever fitted: of a superset, for probing."""
    book = story.world.book
    terms = [
        days
        for name, versions in book.versions.items()
        for version in versions
        if name[0] == "item"
        for days in (
            version.message.get("after_opening_days"),
            (version.message.get("service_limit") or {}).get("days"),
        )
        if days is not None
    ]
    for index, fact in enumerate(story.facts):
        zones = {"UTC", fact.zone, *book.zones()}
        starts = {clock.local_day(fact.at, zone) for zone in zones} | {fact.local_day}
        for part in changes(story, index).values():
            if part and part.get("expires"):
                yield clock.expiry_day(part["expires"])
            if part and part.get("opened_on"):
                starts.add(date.fromisoformat(part["opened_on"]))
                yield date.fromisoformat(part["opened_on"]) - timedelta(days=1)
        yield from (start + timedelta(days=days) for start in starts for days in terms)
    for use in wearing.uses(story, story.memory["uses",][0]):
        days = {clock.local_day(use.at, zone) for zone in book.zones()}
        yield from (day + timedelta(days=term) for day in days for term in terms)


def hours_crossings(story: Story) -> set[datetime]:
    """List the instants at which the hours worn since any fact reach a limit of any item."""
    versions = [found for name, all_of in story.world.book.versions.items() if name[0] == "item" for found in all_of]
    limits = [(version.message.get("service_limit") or {}).get("hours") for version in versions]
    found = set()
    for limit in {timedelta(hours=hours) for hours in limits if hours is not None}:
        for index, fact in enumerate(story.facts):
            if changes(story, index):
                found |= crossing(story, fact.at, limit)
    return found


def crossing(story: Story, since: datetime, limit: timedelta) -> set[datetime]:
    """Give the instant at which the hours worn since another reach a limit, if they do."""
    spans = [(max(start, since), end) for start, end in wearings(story) if end > since]
    for start, end in zip(*(sorted({at for span in spans for at in span})[cut:] for cut in (0, 1)), strict=False):
        worn = hours_worn(story, since, start)
        pace = sum(begun <= start < ends for begun, ends in spans)
        if pace and worn < limit <= worn + (end - start) * pace:
            return {start + (limit - worn) / pace}
    return set()


def listed_parts(ask: Ask) -> Answer:
    """Judge whether every part known to be fitted is listed for the model, and none required was taken out."""
    positions = {found["position"]: found for found in ask.model.get("positions") or []}
    now = fitted(ask.story, ask.n)
    if not now or not ask.model:
        return Answer(OUT)
    found = []
    for name, part in now.items():
        position = positions.get(name)
        if part.part is None:
            if position is not None and position["required"]:
                found.append((DO_NOT_USE, "missing-part"))
        elif position is None or part.part["item"] not in position["items"]:
            found.append((DO_NOT_USE, "unlisted-part"))
    if not found and not combined(ask, {name: part.part["item"] for name, part in now.items() if part.part}):
        found.append((DO_NOT_USE, "unlisted-part"))
    return worst(found)


def combined(ask: Ask, items: dict[str, str]) -> bool:
    """Say whether some combination approved for the model allows every item it names a position for."""
    approved = ask.model.get("assemblies") or []
    return not approved or any(
        all(item in found["items"].get(name, [item]) for name, item in items.items()) for found in approved
    )
