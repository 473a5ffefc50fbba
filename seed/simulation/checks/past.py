"""Asked as at a past day, a sample of units stands as it stood then, and every site is counted as it was."""

from collections.abc import Iterator
from datetime import UTC, datetime, time, timedelta

from seed.dice import Dice
from seed.simulation.checks.asking import Asking, Found, Stated, each
from seed.simulation.checks.summary import counted
from seed.simulation.checks.units import compared
from seed.simulation.story import Story

SAMPLE = 100
"""How many units are asked for at each of the moments."""


async def check(asking: Asking, stated: Stated) -> Found:
    """Ask for units and sites at a moment of every whole day."""
    truth = stated.story.truth
    differences: list[str] = []
    count = 0
    for moment, tags in _moments(stated.story):
        as_at = moment.isoformat()

        async def ask(tag: str, moment: datetime = moment, as_at: str = as_at) -> list[str]:
            told, stood = await asking.unit(tag, as_at=as_at), truth.at(tag, moment)
            return [] if stood is None else list(compared(f"{tag} as at {as_at}", told, stood))

        differences += await each(tags, ask)
        found, sites = await counted(asking, truth.by_site(moment), stated.story.sites, as_at=as_at)
        differences += found
        count += len(tags) + sites
    return Found(what="units and sites as at a moment of every past day", count=count, differences=(*differences,))


def _moments(story: Story) -> Iterator[tuple[datetime, list[str]]]:
    """Draw a moment of every day, and the units that were there."""
    dice, truth = Dice.named(story.scale.seed, "as at"), story.truth
    for day in story.played.days:
        moment = datetime.combine(day, time(), UTC) + timedelta(seconds=dice.between(8 * 3600, 24 * 3600 - 1))
        there = [tag for tag in truth.tags if truth.at(tag, moment) is not None]
        yield moment, dice.sample(there, min(SAMPLE, len(there)))
