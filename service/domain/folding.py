"""Folding the units of a kin on from where a snapshot left them, with marks on the way."""

from collections.abc import Sequence

from msgspec.structs import replace

from service.domain.facts import Fact, Signal
from service.domain.fold import Folded, Story, fold
from service.domain.marking import marks, places
from service.domain.snapshot import Asked, Mark, Snapshot
from service.domain.world import World


class Folding:
    """Folds the units of a kin from where a snapshot left them, in a world of which is remembered what it was asked.

    A kin of one unit is marked on the way.
    """

    def __init__(self, start: Snapshot, world: World) -> None:
        self.start = start
        self.placing = frozenset(world.asked)
        self.folding = world.fresh()
        self.marks: list[Mark] = []

    def fold(self, left: Folded, facts: Sequence[Fact | Signal]) -> Story:
        """Fold a unit's facts."""
        found = places(facts, self.start) if len(self.start.left) == 1 else []
        story = fold(left, facts, self.folding, frozenset(found))
        self.marks += marks(facts, found, story.stops, self.start)
        return story

    def after(self, stories: Sequence[Story], facts: Sequence[Sequence[Fact | Signal]]) -> Snapshot:
        """Give where all of it stopped."""
        keys = [self.start.key, *(mine[-1].key for mine in facts if mine)]
        return replace(self.start, left=tuple(story.folded for story in stories), key=max(keys))

    def asked(self) -> Asked:
        """Give what was asked, but of the time to come."""
        return Asked(self.placing, frozenset(self.folding.asked))
