"""Components that are swapped about between units, mostly by days alone, against the oracle; nothing is stored.

TEST_RECALLS is how many histories (40 where it is not set), TEST_RECALLS_FROM the first seed.
"""

from collections.abc import Iterator
from datetime import datetime, timedelta
from random import Random
from typing import Any
from uuid import UUID

import pytest

from tests.domain.comparing import differences
from tests.domain.test_agreement_on_recalls import SEEDS, Scene
from tests.oracle.criteria import Words
from tests.oracle.histories import History, random_history
from tests.oracle.posting import Posted, say
from tests.oracle.record import Record

pytestmark = pytest.mark.no_cover

SERIALS = ("cell-1", "cell-1", "case-1")


def swapped(history: History, random: Random) -> History:
    """Damage the component in a history and swap it about, mostly by days alone of which other things are told, too.

    Often there is another one, in which it may come to sit.
    """
    told = [one.message for one in history.records if "asset" in one.message and "occurred_at" in one.message]
    days = [datetime.fromisoformat(one["occurred_at"]) for one in told[1:]]
    tags = [one["asset"] for one in told if one["kind"] == "registered"]
    received = max(one.received_at for one in history.posted).isoformat()

    def said(kind: str, nth: int, **fields: Any) -> Posted:
        at = (random.choice(days) + timedelta(minutes=random.randrange(-300, 300))).isoformat()
        day = at[:10] if random.random() < 0.7 else at
        return say(kind, day, received=received, id=str(UUID(int=nth)), **fields)

    posted = [*history.posted, said("quarantined", 1, asset="B-1", reason="damage")]
    if random.random() < 0.6:
        case = {"asset": "C-1", "model": "pack", "serial": "case-1", "site": "dock", "fitted_to": random.choice(tags)}
        posted.append(say("registered", min(days).isoformat(), received=received, id=str(UUID(int=2)), **case))
        tags += ["C-1"] * len(tags)
    for nth in range(random.randrange(1, 9)):
        kind = random.choice(["part-replaced", "part-replaced", "filter-replaced"])
        serial, out = random.choice(SERIALS), random.random() < 0.3
        new = {"item": "cell", "serial": "none" if out else serial, "condition": "new"}
        part = {"in_": None if out and kind == "part-replaced" else new, "out": {"serial": serial} if out else None}
        where = {"asset": random.choice(tags), "position": random.choice(["battery", "battery", "pre-filter"])}
        posted.append(said(kind, nth + 3, **where, **part, reason="other"))
    return History(posted, history.reports)


def within(records: list[Record], random: Random) -> Iterator[datetime]:
    """Give moments of the days that swaps state alone, and a moment later."""
    days = sorted(
        {one.message["occurred_on"] for one in records if one.message.get("in") and "occurred_on" in one.message}
    )
    for day in random.sample(days, min(len(days), 5)):
        yield datetime.fromisoformat(f"{day}T00:00:00+00:00") + timedelta(minutes=random.randrange(24 * 60))
    yield max(one.received_at for one in records)


@pytest.mark.parametrize("first", SEEDS[::20])
def test_components_are_told_where_they_may_be(first: int) -> None:
    """Who had and wore what they sat in, or may have sat in on a day that is stated alone, as the oracle says."""
    loose = 0
    for seed in range(first, first + 20):
        random = Random(seed)  # noqa: S311 - guards nothing
        records = swapped(random_history(seed, 30 + 4 * (seed % 24)), random).records
        words = Words(records)
        for at in within(records, random):
            scene = Scene(records, None, at)
            every = [*scene.known(), *(scene.supposed(random, words, ["rc-none"]) for _ in range(6))]
            for ours, theirs in every if len(scene.seen) == len(scene.world.stories) else []:
                scene.compare(ours, theirs)
            loose += sum(one.day < one.since for acts in scene.lives.acts.values() for one in acts.fitted)
    assert loose > 0


@pytest.mark.parametrize("seed", SEEDS)
def test_components_speak_where_they_may_be(seed: int) -> None:
    """What is held against one is held against each unit that it may be in, as the oracle says."""
    random = Random(seed)  # noqa: S311 - guards nothing
    assert differences(swapped(random_history(seed, 20 + seed % 60), random), random, moments=3) == []
