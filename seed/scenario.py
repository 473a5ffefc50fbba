"""The scenario: one year of the Varrowby group, from a seed and the moment it ends."""

from datetime import UTC, datetime

import msgspec

from seed.book import Book
from seed.days import year_before
from seed.delivery import Delivery
from seed.dice import Dice
from seed.post import deliver
from seed.reference import post
from seed.staff import plants
from seed.truth import Truth, truth_of
from seed.world import World
from seed.year import run

SEED = 20


class Scenario(msgspec.Struct, frozen=True):
    """All deliveries in the order of their arrival, and what they are meant to come to."""

    deliveries: tuple[Delivery, ...]
    truth: Truth


def scenario(end: datetime, seed: int = SEED) -> Scenario:
    """Play the twelve months that end at `end`, an aware moment. The same seed and end give the same messages."""
    end = end.astimezone(UTC).replace(microsecond=0)
    start = year_before(end.date())
    dice = Dice.named(seed, "year")
    world = World(start=start, end=end.date(), dice=dice, book=Book(seed), plants=plants(dice, start, end.date()))
    post(world)
    run(world)
    deliveries = deliver(world.book.entries, seed, end)
    return Scenario(tuple(deliveries), truth_of(world, deliveries))
