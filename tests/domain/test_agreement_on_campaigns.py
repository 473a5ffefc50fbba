"""What opens and closes recalls, against the oracle on random logs, and in every order that they may arrive in."""

from collections.abc import Iterator, Sequence
from datetime import datetime, timedelta
from itertools import permutations
from random import Random
from typing import Any

import msgspec
import pytest

from service.domain.conflict import Conflict
from service.domain.context import world_of
from service.domain.recall.campaign import Campaign, campaigns
from service.domain.recorded import Recorded
from tests.domain.folding import recorded
from tests.domain.units import at
from tests.oracle.campaigns import Codes, closed_at, opened, reasons
from tests.oracle.posting import Posted, log, say
from tests.oracle.record import Record
from tests.oracle.world import World

pytestmark = pytest.mark.no_cover

LOT = {"item": "p3", "lot": "L-9"}
UNREASONED, UNKNOWN, IDLE = "units-outstanding", "unknown-recall", "reason-without-unit"
Opened = list[tuple[str, datetime]]
Told = tuple[Opened, datetime | None, list[tuple[datetime, str]]]
"""What opened a recall, when it was closed, and for which units reasons are given, each with when."""
TAGS = ("H-1", "H-2")


def opening(hours: float, recall: str = "r-1", action: str = "stop-use", **fields: Any) -> Posted:
    """Open a recall so many hours after noon."""
    given = {"recall": recall, "action": action, "criteria": [LOT]} | fields
    return say("recall-opened", at(hours).isoformat(), "m-2", **given)


def closing(hours: float, recall: str = "r-1", *, day: bool = False, **fields: Any) -> Posted:
    """Close it then or on that day, without reasons if none is among the fields."""
    stamp = at(hours).isoformat()
    return say("recall-closed", stamp[: len("2026-03-02")] if day else stamp, "m-2", recall=recall, **fields)


def rows(records: Sequence[Record], codes: Codes) -> list[Recorded]:
    """Give the log with the conflicts that its closings were answered with."""
    return [
        msgspec.structs.replace(
            row,
            conflicts=tuple(
                Conflict(code, assets=tuple(tags)) for code, tags in codes.get(str(row.event.id), {}).items()
            ),
        )
        for row in recorded(records)
    ]


def found(known: Sequence[Recorded], moment: datetime) -> dict[str, Campaign]:
    """Give the recalls opened by a moment."""
    return campaigns(known, world_of(known, {}), moment)


def told(campaign: Campaign | None) -> Told:
    """Show what is told of a recall."""
    if campaign is None:
        return [], None, []
    end = campaign.closing
    opened = sorted((str(one.event), one.at) for one in campaign.openings)
    return opened, None if end is None else end.at, sorted((one.at, one.tag) for one in campaign.given)


def true(world: World, recall: str, moment: datetime, codes: Codes) -> Told:
    """Show the same as the oracle tells it."""
    every = opened(world, recall, moment, codes)
    given = sorted(reasons(world, recall, moment, codes))
    return sorted((one.record.id, one.at) for one in every), closed_at(world, recall, moment, codes), given


def random_log(random: Random) -> Iterator[Posted]:
    """Post what is said of two recalls, early and late, by clocks that are right or not; some of it is taken back."""
    for number in range(random.randint(2, 9)):
        hours, recall = random.randint(0, 9), random.choice(["r-1", "r-1", "r-2"])
        came = at(hours + random.choice([0, 1, 30]))
        sent = came - timedelta(hours=random.random() < 0.1)
        clock: dict[str, Any] = {"received": came.isoformat(), "sent": sent.isoformat()}
        if number and random.random() < 0.1:
            voided = f"01900000-0000-7000-8000-{random.randint(1, number):012x}"
            by = random.choice(["m-1", "m-2"])
            yield say("voided", at(hours).isoformat(), by, key="desk", event=voided, reason="wrong", **clock)
        elif random.random() < 0.45:
            outstanding = [{"asset": tag, "reason": "lost"} for tag in TAGS if random.random() < 0.6]
            yield closing(hours, recall, day=random.random() < 0.3, outstanding=outstanding, **clock)
        else:
            action = random.choice(["stop-use", "inspect", "information"])
            yield opening(hours, recall, action, rehearsal=random.random() < 0.4 or None, **clock)


@pytest.mark.parametrize("seed", range(200))
def test_recalls_are_opened_and_closed_as_the_oracle_says(seed: int) -> None:
    """At every hour, with what was known after each event: the same openings, the same end or none, and reasons."""
    random = Random(seed)  # noqa: S311 - guards nothing
    records = log([*random_log(random)])
    answers: tuple[dict[str, tuple[str, ...]], ...] = ({}, {}, {UNREASONED: ()}, {UNKNOWN: ()}, {IDLE: TAGS[:1]})
    codes = {one.id: random.choice(answers) for one in records if one.kind == "recall-closed"}
    every = rows(records, codes)
    for count in range(1, len(every) + 1):
        world = World(records[:count], [], None)
        for hours in (*range(10), 200):
            ours = found(every[:count], at(hours))
            for recall in ("r-1", "r-2"):
                assert told(ours.get(recall)) == true(world, recall, at(hours), codes)


def answered(records: Sequence[Record]) -> Codes:
    """Say what each closing is told that gives no reason, of recalls that bear on units at any time."""
    codes: dict[str, dict[str, tuple[str, ...]]] = {}
    for one in records:
        if one.kind == "recall-closed":
            before = [other for other in records[: one.seq - 1] if other.kind == "recall-opened"]
            asking = [
                other
                for other in before
                if not other.message.get("rehearsal") and other.message["action"] != "information"
            ]
            left = any(other.message["occurred_at"] <= one.message["occurred_at"] for other in asking)
            codes[one.id] = {} if before and not left else {UNREASONED if left else UNKNOWN: ()}
    return codes


@pytest.mark.parametrize(
    "said",
    [
        (opening(1), closing(4)),
        (opening(1, rehearsal=True), closing(8), opening(5)),
        (opening(1, action="information"), closing(8), opening(5)),
        (opening(1, rehearsal=True), closing(4), opening(6, rehearsal=True), closing(8), opening(5)),
        (opening(1, action="information"), closing(4), opening(2, rehearsal=True), opening(6, action="information")),
        (opening(1), closing(4), opening(2, action="information"), opening(3, rehearsal=True), closing(9)),
    ],
)
def test_whatever_arrives_first_the_same_is_closed(said: tuple[Posted, ...]) -> None:
    """Of closings that give no reason: in any order of arrival, as of any hour, the same recall is open or over."""
    seen = set()
    for order in permutations(said):
        records = log([*order])
        known = rows(records, answered(records))
        hourly = (found(known, at(hours)).get("r-1") for hours in range(10))
        seen.add(tuple((one and tuple(each.at for each in one.openings), told(one)[1]) for one in hourly))
    assert len(seen) == 1
