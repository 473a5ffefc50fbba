"""The lives of units, day by day: what is done to them, in order, at the site where they are.

An act is a kind and its fields; who does it, when and where is said by whoever tells the life.
"""

from collections.abc import Iterator
from itertools import count
from random import Random
from typing import Any, NamedTuple

WELL = {"airflow": "pass", "battery": "pass"}
ILL = {"airflow": "fail", "battery": "pass"}
EXAMINED_EVERY = 19
"""Working days, so that the month the law gives is never over."""


class Act(NamedTuple):
    """Something that is done; `who` is the letter of the person."""

    kind: str
    fields: dict[str, Any]
    who: str = "b"


Day = list[Act]


def check(wearer: str = "b", **fields: Any) -> Act:
    """Check before use, all well."""
    return Act("checked", {"wearer": wearer, "points": WELL, "airflow_lpm": 186.0, "battery_percent": 84.0} | fields)


def examination() -> Act:
    """Examine thoroughly, all well."""
    return Act("examined", {"points": WELL, "airflow_lpm": 190.0, "result": "pass"}, "a")


def issue(to: str = "b") -> Act:
    """Hand out to a person, whose name is filled in by the letter."""
    return Act("issued", {"holder": {"person": to}}, "a")


def part(item: str, lot: str) -> dict[str, Any]:
    """Describe a part."""
    return {"item": item, "lot": lot, "condition": "new"}


def swap(kind: str, position: str, item: str, reason: str) -> Act:
    """Put a new part into a position."""
    return Act(kind, {"position": position, "in": part(item, "L2411"), "reason": reason})


RELEASED = [Act("released", {}, "a"), check(), issue()]
MENDED = [Act("repaired", {"points": ["airflow"], "work": ["fan-replaced"]}, "a"), check(), *RELEASED]
FOUND = [Act("found", {"place": "store-a"}), examination(), *RELEASED]

INCIDENTS: tuple[tuple[int, tuple[Day, ...]], ...] = (
    (300, ([],)),
    (40, ([Act("worn", {"wearer": "b", "purpose": "routine"})],)),
    (15, ([Act("cleaned", {"scope": "unit", "method": "wiped"}), check()],)),
    (8, ([swap("filter-replaced", "particle-filter", "pf-170", "loading"), check()],)),
    (8, ([swap("part-replaced", "battery", "bat-64", "schedule"), check()],)),
    (6, ([Act("failed-check", {"points": ILL, "airflow_lpm": 141.5}), *MENDED],)),
    (3, ([Act("failed-in-use", {"signs": ["low-flow-alarm"], "left_area": True}), examination(), *RELEASED],)),
    (3, ([Act("quarantined", {"reason": "suspect", "place": "cage-1"}), examination(), *RELEASED],)),
    (3, ([Act("returned", {"place": "store-a"}), check("c"), issue("c")], [Act("returned", {}), check(), issue()])),
    (2, ([Act("missing", {"last_place": "store-a"})], FOUND)),
    (2, ([Act("sent-to-service", {"provider": "workshop-1"})], [Act("returned", {}), examination(), check(), issue()])),
    (1, ([Act("part-identified", {"position": "battery", "part": part("bat-64", "B25-07")})],)),
    (1, ([Act("recall-actioned", {"recall": "rc-2026-01", "result": "not-affected"})],)),
)
"""How often, of so many days, what happens besides; one that takes several days fills them."""
MOVE: tuple[Day, ...] = ([Act("returned", {}), Act("moved", {})], [Act("received", {}, "a"), check(), issue()])


def beginning(use: str = "routine") -> Day:
    """Register and examine a complete unit."""
    positions = (("particle-filter", "pf-170"), ("battery", "bat-64"))
    parts = [{"position": position, "part": part(item, "L2409")} for position, item in positions]
    return [Act("registered", {"use": use, "parts": parts}, "a"), examination()]


def in_issue(random: Random, nth: int) -> Iterator[Day]:
    """Tell of a unit in somebody's hands: checked on most working days, and now and then something happens."""
    yield [*beginning(), check(), issue()]
    weights = [weight for weight, _ in INCIDENTS]
    turn = random.randrange(3, 12)
    for day in count(1):
        if day == turn and nth % 8 in SPECIAL:
            yield from SPECIAL[nth % 8]
        checks = [check()] if random.random() < 0.93 else []
        examined = [examination()] if day % EXAMINED_EVERY == 0 else []
        first, *rest = random.choices([days for _, days in INCIDENTS], weights)[0]
        yield [*examined, *checks, *first]
        yield from rest


SPECIAL: dict[int, tuple[Day, ...]] = {3: MOVE, 4: ([Act("retagged", {}, "a")],)}
"""What happens once to units of every so manieth pattern."""


def stationed(random: Random, _nth: int) -> Iterator[Day]:
    """Tell of a unit at an emergency point: checked every day, seldom worn, and cleaned after that."""
    yield [*beginning("emergency"), check(), Act("stationed", {"place": "cabinet-4"}, "a")]
    for day in count(1):
        examined = [examination()] if day % EXAMINED_EVERY == 0 else []
        worn = [Act("worn", {"wearer": "c"}, "c"), Act("cleaned", {"scope": "unit", "method": "washed"}, "c")]
        yield [*examined, check("c"), *(worn if random.random() < 0.03 else [])]


def in_store(random: Random, _nth: int) -> Iterator[Day]:
    """Tell of a unit that is kept ready, and of another use half the time."""
    yield [*beginning(), check()]
    yield [Act("use-set", {"use": random.choice(["emergency", "escape"])}, "a"), examination()]
    for _ in count():
        yield [check(random.choice("bc"))]


def plain(_random: Random, _nth: int) -> Iterator[Day]:
    """Tell of the one unit that is checked all day long."""
    yield [*beginning(), check(), issue()]
    for _ in count():
        yield [check()]


def life_of(random: Random, nth: int) -> Iterator[Day]:
    """Tell the life of the units of the nth pattern."""
    return {6: stationed, 7: in_store}.get(nth % 8, in_issue)(random, nth)


def retires(nth: int) -> bool:
    """Say whether the units of a pattern are retired in the end."""
    return nth % 8 == 5
