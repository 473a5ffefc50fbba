"""Invented items whose use follows each of the published patterns, and how it is drawn."""

from collections.abc import Callable
from dataclasses import dataclass
from math import exp
from random import Random

Draw = Callable[[Random, int], float]
WAVE = 182
"""Days of service after which the parts that were fitted together are changed."""
FLEET = 48
WAVE_BEGAN = 40
"""The day before the simulation on which the fleet was last changed."""


@dataclass(frozen=True)
class Invented:
    """An item: its use on a day (unforeseen, foretold), its pack, and the days it may be kept from its receipt on."""

    name: str
    unforeseen: Draw
    pack: int
    shelf_days: int
    foretold: Draw = lambda _random, _day: 0.0


def poisson(random: Random, mean: float) -> int:
    """Draw by multiplying (Knuth); for small means."""
    product, drawn = random.random(), 0
    while product > exp(-mean):
        product *= random.random()
        drawn += 1
    return drawn


def steady(mean: float) -> Draw:
    """Give use of so many a day in the mean."""
    return lambda random, _day: poisson(random, mean)


def varying(mean: float, shape: float) -> Draw:
    """Give use whose mean itself is drawn anew each day, from a gamma distribution."""
    return lambda random, _day: poisson(random, random.gammavariate(shape, mean / shape))


def rare(chance: float, least: int, most: int) -> Draw:
    """Give use on few days, of any number between two."""
    return lambda random, _day: random.randint(least, most) if random.random() < chance else 0


def ending(mean: float, last: int) -> Draw:
    """Give use that all but ends on a day."""
    return lambda random, day: poisson(random, mean if day < last else mean / 50)


def wave(_random: Random, day: int) -> float:
    """Give the change of a whole fleet that was fitted together."""
    return float(FLEET) if (day + WAVE_BEGAN) % WAVE == 0 else 0.0


ITEMS = (
    Invented("smooth", steady(12 / 7), 20, 720),
    Invented("fast", steady(45 / 7), 50, 720),
    Invented("erratic", varying(12 / 7, 0.12), 20, 720),
    Invented("intermittent", rare(1 / 30, 1, 3), 4, 540),
    Invented("lumpy", rare(1 / 45, 2, 18), 6, 540),
    Invented("short-lived", steady(0.6 / 7), 10, 120),
    Invented("ending", ending(8 / 7, 400), 10, 540),
    Invented("fitted together", steady(0.5 / 7), 12, 720, wave),
)
