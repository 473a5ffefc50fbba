"""Telling: a life becomes messages with moments, some of them late, some of them taken back.

A day's work begins before the shift and goes on in steps of minutes, by the clock of the site; working days are counted
back from the last one. No two events of a unit share a moment.
"""

from collections.abc import Iterator, Sequence
from datetime import UTC, date, datetime, time, timedelta
from itertools import islice
from random import Random
from typing import Any, NamedTuple
from uuid import UUID

from service.domain.calendar import zone
from tests.bench.scale.lives import Act, Day, life_of, plain, retires
from tests.bench.scale.shape import (
    CLASSES,
    SAMPLE,
    Shape,
    kiosk_of,
    person_of,
    second_tag_of,
    serial_of,
    site_ref,
    tag_of,
)

MAGIC = 0xA75E1DB3
"""Begins the ids of samples, and of nothing else."""
COUNTER = 9_000_000
"""From here on samples count the events of their kiosks; kiosks themselves begin at 1,000,000."""
MODEL = "northwind-2"
PROMPT = timedelta(seconds=2)
SOON = timedelta(hours=6)
"""By when it is seen that something was entered wrongly."""
MANY = 20
"""Acts that take the whole day."""
LATEST = timedelta(days=30)
VOIDABLE = frozenset({"checked", "worn", "cleaned"})
MOVED_BY = 2
"""How many sites on a unit is moved: to one of the same class."""


class Told(NamedTuple):
    """A message with its receipt; `place` counts the moves of its unit, and `takes_back` names what it voids."""

    message: dict[str, Any]
    occurred_at: datetime
    received_at: datetime
    place: int
    takes_back: UUID | None = None


def told_units(shape: Shape, of_class: int, nth: int) -> list[Told]:
    """Tell what happens to every unit of a pattern, of the sample."""
    random = Random(f"{shape.seed}/{of_class}/{nth}")  # noqa: S311 -- guards nothing
    days = list(_first(life_of(random, nth), shape.of_a_unit(nth)))
    if retires(nth):
        days.append([Act("retired", {"reason": "worn-out"}, "a")])
    told = list(_delayed(list(_dated(days, shape, of_class, random)), shape, random))
    return [*told, *_takings(told, shape, nth, random)]


def told_long(shape: Shape) -> list[Told]:
    """Tell what happens to the one unit with a long history: as many checks a day as fill 60 days."""
    random = Random(f"{shape.seed}/long")  # noqa: S311 -- guards nothing
    first, *more = islice(plain(random, 0), shape.long - 3)
    checks = [act for day in more for act in day]
    a_day = len(checks) // 40 + 1
    days = [first, *(checks[start : start + a_day] for start in range(0, len(checks), a_day))]
    return list(_delayed(list(_dated(days, shape, 0, random)), shape, random))


def _first(days: Iterator[Day], events: int) -> Iterator[Day]:
    """Give days until there are so many events; the last is cut."""
    left = events
    for day in days:
        yield day[:left]
        left -= len(day)
        if left <= 0:
            return


def _dated(days: Sequence[Day], shape: Shape, of_class: int, random: Random) -> Iterator[Told]:
    """Give every act its moment, place and sender."""
    dates = reversed(list(islice(_working_days(shape.until, of_class), len(days))))
    place, tag, number = 0, tag_of(SAMPLE), 0
    for on, day in zip(dates, days, strict=True):
        at = _start(on, of_class) + timedelta(seconds=random.randrange(1, 900))
        step = (600 if len(day) < MANY else 36_000) / max(len(day), 1)
        for act in day:
            at += timedelta(seconds=random.uniform(step / 20, step * 1.5), milliseconds=1)
            place += act.kind == "received"
            site = of_class + MOVED_BY * place
            message = _message(act, site, tag, random) | {"device_seq": COUNTER + number}
            yield Told(message | {"occurred_at": at.isoformat()}, at, at + PROMPT, place)
            tag, number = message.get("new_tag", tag), number + 1


def _message(act: Act, site: int, tag: str, random: Random) -> dict[str, Any]:
    """Write the message of an act at a site."""
    fields = {**act.fields}
    if "wearer" in fields:
        fields["wearer"] = person_of(site, fields["wearer"])
    match act.kind:
        case "registered":
            fields |= {"model": MODEL, "serial": serial_of(SAMPLE)}
        case "issued":
            fields["holder"] = {"person": person_of(site, fields["holder"]["person"])}
        case "moved":
            fields["to_site"] = site_ref(site + MOVED_BY)
        case "retagged":
            fields["new_tag"] = second_tag_of(SAMPLE)
        case "use-set":
            fields["authorised_by"] = person_of(site, "a")
    ident = UUID(int=MAGIC << 96 | random.getrandbits(96))
    who = {"by": person_of(site, act.who), "site": site_ref(site), "device": kiosk_of(site)}
    return {"id": str(ident), "kind": act.kind, "asset": tag} | who | fields


def _working_days(until: datetime, of_class: int) -> Iterator[date]:
    """Give the working days whose shift had begun by a moment, the newest first."""
    day = until.date()
    while True:
        if day.weekday() < 5 and _start(day, of_class) + timedelta(hours=1) <= until:
            yield day
        day -= timedelta(days=1)


def _start(day: date, of_class: int) -> datetime:
    """Give the moment when the day's first kiosk is switched on: half an hour before the shift."""
    return datetime.combine(day, time(5, 25), zone(CLASSES[of_class][1])).astimezone(UTC)


def _delayed(told: Sequence[Told], shape: Shape, random: Random) -> Iterator[Told]:
    """Have some received late; not what brings a name that later ones need."""
    for one in told:
        latest = min(LATEST, shape.until - one.occurred_at)
        late = one.message["kind"] not in {"registered", "retagged"} and random.random() < shape.late
        delay = latest * random.random() if late else PROMPT
        yield one._replace(received_at=one.occurred_at + max(delay, PROMPT))


def _takings(told: Sequence[Told], shape: Shape, nth: int, random: Random) -> Iterator[Told]:
    """Take some back, some hours after they were received: of all patterns together the share that is wanted."""
    share = shape.voided * len(told)
    wanted = round(share * (nth + 1)) - round(share * nth)
    voidable = [one for one in told if one.message["kind"] in VOIDABLE and one.received_at + SOON < shape.until]
    for number, one in enumerate(random.sample(voidable, min(wanted, len(voidable))), start=COUNTER + len(told)):
        at = one.received_at + SOON * random.uniform(0.1, 1)
        site = int(one.message["site"][-4:])
        message = {
            "id": str(UUID(int=MAGIC << 96 | random.getrandbits(96))),
            "kind": "voided",
            "event": one.message["id"],
            "reason": "entered for the wrong unit",
            "by": person_of(site, "a"),
            "site": site_ref(site),
            "device": kiosk_of(site),
            "device_seq": number,
            "occurred_at": at.isoformat(),
        }
        yield Told(message, at, at + PROMPT, one.place, UUID(one.message["id"]))
