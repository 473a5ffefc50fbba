"""The lives of all units of a history at a moment, and where each sat as a component: folded, and stored nowhere."""

from collections.abc import Iterator, Sequence
from datetime import datetime

from msgspec.structs import replace

from service.domain.event import AssetEvent
from service.domain.kin import UnitFacts, told_of
from service.domain.lodging import Lodging, through
from service.domain.recall.acts import acts_of_units
from service.domain.recall.ahead import ahead
from service.domain.recall.asking import Asking
from service.domain.recall.awaited import with_awaited
from service.domain.recall.borne import borne
from service.domain.recall.followed import Following
from service.domain.recall.impact import Life, Touched, touched
from service.domain.recall.opening import Opening
from service.domain.unit import Unit
from tests.domain.folding import Folding


class Lives:
    """Every unit that there was at a moment, a component with those who had and wore what bore it."""

    def __init__(self, folding: Folding, at: datetime) -> None:
        alone = [_life(folding, facts, at) for facts in folding.prepared.units if facts.start.at <= at]
        following = Following()
        for life in alone:
            following.add(life.stays)
        homes = {row.event.asset: "all" for row in folding.rows if isinstance(row.event, AssetEvent)}
        self.acts = acts_of_units(folding.rows, homes, at, folding.world)
        self.every = [replace(life, lots=following.lots) for life in self._carried(alone)]

    def _carried(self, alone: list[Life]) -> Iterator[Life]:
        lives = {life.unit.unit: life for life in alone}
        every = {unit: (*acts.fitted, *acts.perhaps) for unit, acts in self.acts.items()}
        for life in alone:
            sat = [one for one in through(life.unit.unit, every) if one.host in lives]
            there = (Lodging(one.since, one.until, lives[one.host], one.day) for one in sat)
            yield borne(life, there) if sat else life

    def touched(self, openings: Sequence[Opening]) -> Iterator[tuple[Unit, Touched]]:
        """Give each unit that the openings of a recall speak of, and what of it."""
        asking = Asking(openings)
        for life in self.every:
            found = touched(life, asking)
            if found is not None:
                yield life.unit, found


def _life(folding: Folding, facts: UnitFacts, at: datetime) -> Life:
    until = tuple(fact for fact in facts.facts if fact.at <= at)
    story = told_of(replace(facts, facts=until), folding.world)
    unit, uses = story.folded.unit, tuple(use for use in story.uses if use.worn)
    coming = ahead(unit, facts.facts, at, folding.world)
    life = Life(unit, folding.world.listing(unit, at), at, story.stays, uses, ahead=coming)
    return with_awaited(life, facts, folding.world)
