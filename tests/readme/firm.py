"""The demo's reference data without its year: what the README's reader finds defined after `up`."""

from datetime import UTC, datetime
from typing import Any

import httpx

from seed import reference
from seed.book import Book
from seed.days import year_before
from seed.dice import Dice
from seed.scenario import SEED
from seed.staff import plants
from seed.world import World

MULTI_STATUS = 207


def defined(end: datetime) -> list[dict[str, Any]]:
    """Give the messages that define sites, models, items, tasks, instruments and policies of the demo."""
    end = end.astimezone(UTC).replace(microsecond=0)
    start = year_before(end.date())
    dice = Dice.named(SEED, "year")
    world = World(start=start, end=end.date(), dice=dice, book=Book(SEED), plants=plants(dice, start, end.date()))
    reference.post(world)
    return [entry.message for entry in world.book.entries if entry.at <= end]


def define(address: str, administrator: str) -> None:
    """Post them to a running service, as records of the past."""
    headers = {"Authorization": f"Bearer {administrator}", "Prefer": "import"}
    answer = httpx.post(f"{address}/v1/events", headers=headers, json=defined(datetime.now(UTC)), timeout=60)
    assert answer.status_code == MULTI_STATUS, answer.text
    assert {result["status"] for result in answer.json()["results"]} == {201}
