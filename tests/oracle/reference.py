"""Reference data in time: which version of a site, model, item, instrument or policy held at a moment, as known."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from typing import Any

from tests.oracle import clock
from tests.oracle.record import Message, Record

KEYED = {
    "site-defined": "site",
    "model-defined": "model",
    "item-defined": "item",
    "task-defined": "task",
    "instrument-defined": "instrument",
}
KINDS = frozenset(KEYED) | {"policy-set"}

# Interval of the thorough examination by profile and use. uk: COSHH 2002 reg 9(3) with L5 ACOP (monthly, three months
# where used only occasionally; UK-09, status F2); us: 29 CFR 1910.134(h)(3)(i)(B) (US-02, F2). Nothing else is a duty.
DUTY = {
    ("uk", "routine"): "P1M",
    ("uk", "emergency"): "P1M",
    ("uk", "escape"): "P1M",
    ("uk", "occasional"): "P3M",
    ("us", "emergency"): "P1M",
}
DEFAULTS: dict[str, dict[str, Any]] = {
    "thorough-examination": {"due_soon": "P7D"},
    "pre-use-check": {"cover": "PT12H", "count": "working-days"},
    "cleaning": {"between_wearers": True},
    "scope": {"in_store": False},
    "acceptance": {"examination": False},
    "filter-life": {"due_soon": "P7D"},
    "clock": {"tolerance": "PT5M"},
}
WEEK = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")


@dataclass(frozen=True)
class Version:
    """A version of reference data and the moment from which it holds."""

    since: datetime
    order: tuple[Any, ...]
    message: Message


def effect(record: Record) -> datetime:
    """Give the moment from which a version bites: not before receipt, unless it is a reasoned correction."""
    asked = record.message.get("effective_from")
    if asked is None:
        return record.received_at
    moment = clock.instant(asked)
    if record.message.get("correction") and record.message.get("reason"):
        return moment
    return max(moment, record.received_at)


def posted_at(message: Message) -> datetime:
    """Give the instant of a reference event, a day counting at its end in its own zone or UTC."""
    if "occurred_at" in message:
        return clock.instant(message["occurred_at"])
    return clock.day_end(date.fromisoformat(message["occurred_on"]), message.get("time_zone", "UTC"))


def order(message: Message) -> tuple[Any, ...]:
    """Give the place of a reference event among its equals."""
    device = "" if message["kind"] == "model-defined" else message.get("device") or ""  # a model's device is what it is
    return (posted_at(message), device, message.get("device_seq", -1), str(message["id"]).lower())


class Book:
    """All reference data that stands, as known; and what was taken back, for what it alone can tell."""

    def __init__(self, records: Iterable[Record], taken_back: Iterable[Record] = ()) -> None:
        self.taken_back = [one.message for one in sorted(taken_back, key=lambda one: (effect(one), order(one.message)))]
        self.versions: dict[tuple[Any, ...], list[Version]] = {}
        for record in records:
            name = self.name(record.message)
            self.versions.setdefault(name, []).append(Version(effect(record), order(record.message), record.message))
        for versions in self.versions.values():
            versions.sort(key=lambda version: (version.since, version.order))

    @staticmethod
    def name(message: Message) -> tuple[Any, ...]:
        """Name the thing a reference event speaks of."""
        kind = message["kind"]
        if kind == "policy-set":
            scope = message["scope"]
            return ("policy", message["policy"], scope.get("site"), scope.get("model"))
        return (KEYED[kind], message[KEYED[kind]])

    def newest(self, name: tuple[Any, ...], at: datetime) -> Message | None:
        """Give the version that took effect last, if any has by then."""
        begun = [version for version in self.versions.get(name, []) if version.since <= at]
        return begun[-1].message if begun else None

    def first(self, kind: str, ref: str) -> Message | None:
        """Give the first version of a thing."""
        versions = self.versions.get((kind, ref))
        return versions[0].message if versions else None

    def thing(self, kind: str, ref: str | None, at: datetime) -> Message | None:
        """Give the version in force; the first one holds for all earlier time."""
        if ref is None:
            return None
        return self.newest((kind, ref), at) or self.first(kind, ref)

    def things(self, kind: str, ref: str | None, since: datetime, until: datetime) -> list[Message]:
        """List the versions in force at any time from one moment to another."""
        starts = [version.since for version in self.versions.get((kind, ref), []) if since < version.since <= until]
        held = [self.thing(kind, ref, at) for at in (since, *starts)]
        return [version for version in held if version is not None]

    def listings(self, model: str, since: datetime, until: datetime) -> list[Message]:
        """List what tells the items of a model within a time; where no version stands, all that were taken back."""
        if ("model", model) in self.versions:
            return self.things("model", model, since, until)
        return [one for one in self.taken_back if self.name(one) == ("model", model)]

    def maker(self, model: str) -> str:
        """Name the maker that identifies units: of the first version, even if all were taken back; else the model."""
        gone = [one for one in self.taken_back if self.name(one) == ("model", model)]
        first = self.first("model", model) or (gone[0] if gone else {})
        return str(first.get("maker") or model)

    def zone_on(self, site: str | None, day: date) -> str:
        """Name the zone of a site in force as a day starts there, UTC without one."""
        versions = self.versions.get(("site", site), [])
        zones = [(version.since, str(version.message["time_zone"])) for version in versions]
        begun = [zone for since, zone in zones if since <= clock.day_start(day, zone)]
        return begun[-1] if begun else zones[0][1] if zones else "UTC"

    def zone_at(self, site: str | None, at: datetime) -> str:
        """Name the zone of a site in force at an instant, UTC without one."""
        found = self.thing("site", site, at)
        return str(found["time_zone"]) if found else "UTC"

    def profile(self, site: str | None, at: datetime) -> str:
        """Name the jurisdiction whose rules hold at a site."""
        found = self.thing("site", site, at)
        return str(found["profile"]) if found else ""

    def scopes(self, name: str, at: datetime, site: str | None, model: str | None) -> Iterator[tuple[bool, Message]]:
        """Walk the policies in force from the narrowest, model before site; say whether each has a narrow scope."""
        for scope in dict.fromkeys(((site, model), (None, model), (site, None), (None, None))):
            found = self.newest(("policy", name, *scope), at)
            if found is not None:
                yield scope != (None, None), found["values"]

    def setting(self, name: str, value: str, at: datetime, site: str | None, model: str | None) -> Any:
        """Give a value of a policy: the narrowest scope that states it, else the profile's."""
        for _, values in self.scopes(name, at, site, model):
            if values.get(value) is not None:
                return values[value]
        return DEFAULTS[name][value]

    def interval(self, at: datetime, site: str | None, model: str | None, use: str) -> str | None:
        """Give the interval of the thorough examination, None where nothing makes it a duty."""
        duty = DUTY.get((self.profile(site, at), use))
        for narrow, values in self.scopes("thorough-examination", at, site, model):
            stated = values.get("interval")
            chosen = stated.get(use) if isinstance(stated, dict) else stated
            if chosen is not None and (narrow or duty is not None):
                return str(chosen)
        return duty

    def changes(self) -> set[datetime]:
        """List every instant at which any version takes effect."""
        return {version.since for versions in self.versions.values() for version in versions}

    def periods(self, value: str) -> set[str]:
        """List every period that any policy ever stated for a value."""
        found: set[str] = set()
        for name, versions in self.versions.items():
            for version in versions if name[0] == "policy" else []:
                stated = version.message["values"].get(value)
                found |= set(stated.values()) if isinstance(stated, dict) else {stated} if stated else set()
        return found

    def sites(self) -> list[str]:
        """List the references of all sites defined."""
        return sorted(name[1] for name in self.versions if name[0] == "site")

    def zones(self) -> set[str]:
        """List every zone any site ever had, and UTC."""
        sites = [versions for name, versions in self.versions.items() if name[0] == "site"]
        return {"UTC"} | {version.message["time_zone"] for versions in sites for version in versions}

    def windows(self, site: str, day: date) -> Iterator[tuple[str | None, datetime, datetime]]:
        """Give the shifts, or the whole day, that any version of a site works on a day: name, start, end."""
        for version in self.versions.get(("site", site), []):
            yield from working(version.message, day)

    def within(self, site: str, day: date, shift: str | None, at: datetime) -> bool:
        """Say whether an instant lies in the named shift of a day, by the calendar in force at that instant."""
        found = self.thing("site", site, at)
        windows = working(found, day) if found else ()
        return any(name == shift and start <= at < end for name, start, end in windows)


def working(site: Message, day: date) -> Iterator[tuple[str | None, datetime, datetime]]:
    """Give the shifts, or the whole day, that a version of a site works on a day."""
    if not works(site, day):
        return
    name = site["time_zone"]
    shifts = site["calendar"].get("shifts") or []
    if not shifts:
        yield None, clock.day_start(day, name), clock.day_end(day, name)
    for shift in shifts:
        begins = datetime.combine(day, time.fromisoformat(shift["starts"]))
        yield (
            shift["name"],
            clock.on_the_wall(begins, name),
            clock.on_the_wall(clock.later(begins, shift["lasts"]), name),
        )


def works(site: Message, day: date) -> bool:
    """Say whether a day is a working day of a version of a site."""
    plan = site["calendar"]
    closed = [(date.fromisoformat(gap["from"]), date.fromisoformat(gap["to"])) for gap in plan.get("closed") or []]
    opened, shut = site.get("opened_on"), site.get("closed_on")
    return (
        WEEK[day.weekday()] in plan["working_days"]
        and not any(first <= day <= last for first, last in closed)
        and (opened is None or day >= date.fromisoformat(opened))
        and (shut is None or day <= date.fromisoformat(shut))
    )


def days_between(first: date, last: date) -> Iterator[date]:
    """Walk the days from one to another, both belonging."""
    for count in range((last - first).days + 1):
        yield first + timedelta(days=count)
