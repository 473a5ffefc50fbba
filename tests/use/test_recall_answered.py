"""What is done about recalls, told in any order with what sat in the units: what is stored is as a rebuild tells it.

TEST_RECALL_ANSWERED is how many histories (3 where it is not set), TEST_RECALL_ANSWERED_FROM the first seed.
"""

import os
from collections.abc import Iterator
from dataclasses import replace
from random import Random
from typing import Any

import pytest

from service.ledger import Ledger
from tests.oracle.firm import FIRM, check, examine, issue, part, register, tell
from tests.oracle.posting import MINUTE, Posted, moment, say
from tests.use.posting import post, post_together
from tests.use.rebuilt import hold_to_a_rebuild
from tests.use.test_waiting import named

FIRST = int(os.environ.get("TEST_RECALL_ANSWERED_FROM", "0"))
SEEDS = range(FIRST, FIRST + int(os.environ.get("TEST_RECALL_ANSWERED", "3")))
TAGS, LOTS, RECALLS = ("A-1", "A-2"), ("L-1", "L-2", None), ("r-1", "r-2")
PLACE = "particle-filter"


def fitted(random: Random) -> dict[str, object]:
    """Give a filter of some lot or of none that was noted."""
    lot = random.choice(LOTS)
    return part("p3") if lot is None else part("p3", lot=lot)


def stated(one: dict[str, object]) -> list[dict[str, object]]:
    """State a part in every position, and which filter."""
    others = [("pre-filter", "pre"), ("breathing-tube", "tube"), ("battery", "cell")]
    parts = [(PLACE, one), *((position, part(item)) for position, item in others)]
    return [{"position": position, "part": sitting} for position, sitting in parts]


def registered(random: Random, at: str, tag: str) -> Posted:
    """Register a unit, or do so again, with all parts stated, or a filter, or none."""
    every = stated(fitted(random))
    return register(at, tag=tag, serial=f"S-{tag}", parts=random.choice([[], every[:1], every]))


def told(random: Random) -> Iterator[Posted]:
    """Swap filters, learn their lots, open recalls of a lot, withdraw units for them and tell what was done."""
    for _ in range(40):
        day = f"2026-03-{random.randrange(2, 5):02}"
        at = random.choice([day, *(f"{day} {hour:02}:00" for hour in (8, 8, 9, 10))])
        tag, recall = random.choice(TAGS), random.choice(RECALLS)
        kinds = ["swap", "swap", "identify", "open", "hold", "answer", "answer", "answer", "examine", "register"]
        match random.choice(kinds):
            case "swap":
                yield tell("filter-replaced", at, tag=tag, position=PLACE, reason="recall", in_=fitted(random))
            case "identify":
                yield tell("part-identified", at, tag=tag, position=PLACE, part=fitted(random))
            case "open":
                action, criteria = (
                    random.choice(["stop-use", "inspect"]),
                    [{"item": "p3", "lot": random.choice(LOTS[:2])}],
                )
                rehearsal = random.random() < 0.2 or None
                yield say(
                    "recall-opened", at, "m-2", recall=recall, action=action, criteria=criteria, rehearsal=rehearsal
                )
            case "register":
                yield registered(random, at, tag)
            case "hold":
                yield tell("quarantined", at, tag=tag, reason="recall", recall=recall)
            case "examine":
                yield examine(at, tag)
            case _:
                result = random.choice(["fixed", "not-affected", "scrapped"])
                yield tell("recall-actioned", at, tag=tag, recall=recall, result=result)


def taken_back(events: list[Posted], at: str, first: int) -> list[Posted]:
    """Void events, by somebody else and with another key."""
    ids = (one.message["id"] for one in events)
    voids = named([say("voided", at, "m-1", event=event, reason="wrong") for event in ids], first)
    return [replace(one, key="desk") for one in voids]


@pytest.mark.parametrize("seed", SEEDS)
async def test_what_answers_a_recall_is_stored_as_a_rebuild_tells_it(seed: int, ledger: Ledger, owner_url: str) -> None:
    """Openings, what they speak of and what answers them come in any order, and are taken back and brought back."""
    random = Random(seed)  # noqa: S311 - guards nothing
    received = moment("2026-03-09 08:00")
    days = ["2026-03-01 08:00", "2026-03-03 08:00", "2026-03-03 09:00", "2026-03-03"]
    units = [registered(random, random.choice(days), tag) for tag in TAGS]
    every = [replace(one, received_at=received + MINUTE * nth) for nth, one in enumerate(told(random))]
    said = named([replace(one, sent_at=one.received_at) for one in every], 100)
    back = taken_back(random.sample(said, 5), "2026-03-10 08:00", 200)
    receipts = await post(ledger, named([*FIRM, *units]))
    pieces = [said[nth : nth + 8] for nth in range(0, len(said), 8)]
    for piece in (*pieces, back, taken_back(back[:2], "2026-03-10 09:00", 300)):
        receipts += await random.choice([post, post_together])(ledger, piece)
        await hold_to_a_rebuild(owner_url)
    assert [one.problem for one in receipts if one.problem is not None] == []


@pytest.mark.parametrize(
    "before",
    [
        tell("recall-actioned", "2026-03-03 08:00", recall="r-1", result="fixed", received="2026-03-04 12:30"),
        check("2026-03-03 08:00", received="2026-03-04 12:30"),
        issue("2026-03-03 08:00", received="2026-03-04 12:30"),
    ],
    ids=lambda one: one.message["kind"],
)
async def test_a_recall_bears_on_nothing_that_a_registration_states_to_be_another(
    before: Posted, ledger: Ledger, owner_url: str
) -> None:
    """It tells what was there by then, too: what was done on its day lies before it."""
    criteria = [{"item": "p3", "lot": "L-1"}]
    fields: dict[str, Any] = {
        "recall": "r-1",
        "action": "stop-use",
        "criteria": criteria,
        "received": "2026-03-04 13:00",
    }
    late = say("recall-opened", "2026-03-02 08:00", "m-2", **fields)
    receipts = await post(
        ledger, named([*FIRM, register("2026-03-03", parts=stated(part("p3", lot="L-2"))), before, late])
    )
    assert {one.status for one in receipts} == {201}
    await hold_to_a_rebuild(owner_url)
