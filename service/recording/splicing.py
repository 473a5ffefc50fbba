"""Splicing: what comes late is folded on to a later mark that the unit reaches as it did; what follows stays as it is.

From equal states equal facts have equal consequences. So a late event costs what it changes, however much follows it.
"""

from collections.abc import Iterator, Mapping, Sequence
from datetime import datetime
from typing import NamedTuple

from msgspec.structs import replace

from service.domain.event import Event
from service.domain.fold import Story
from service.domain.intervals import MOMENT
from service.domain.kin import KinStory, resume
from service.domain.kinds.use_set import UseSet
from service.domain.recorded import Recorded
from service.domain.snapshot import Mark
from service.domain.world import World
from service.recording.rows import OUTLOOK, Kept, Moments, unit_row
from service.recording.state import KinState, mark_rows
from service.store.kin_write import KinWrite
from service.store.load_kins import LoadedKin

AHEAD = (1, 4)
"""How many marks ahead a unit is looked for as it was, before it is folded to its end."""


class Splice(NamedTuple):
    """The story of a unit from a mark to another that it reaches as it was: what is to be written, and how it stands.

    The conflicts and findings of the story are those on the way alone.
    """

    story: KinStory
    write: KinWrite


def simple(event: Event) -> bool:
    """Say whether an event counts at its instant alone, not at its receipt too."""
    return not event.adverse() and not isinstance(event, UseSet)


def splice(
    kin: LoadedKin,
    states: tuple[KinState, KinState],
    rows: Sequence[Recorded],
    later: Mapping[datetime, bytes],
    outlook: bytes,
    world: World,
) -> Splice | None:
    """Fold the unit of a kin with the rows from one of its states to the next mark that is reached as it is stored.

    `states` are that of the mark it begins at and that of its end, `later` marks that come after all that is new, by
    the instant before them, `outlook` is how the unit stands since its last event. None where no mark is reached so,
    or where the rows rest on what the kin did not rest on before.
    """
    begun, ended = states
    story = None if begun.snapshot is None else resume(begun.snapshot, rows, tuple(kin.tags), world)
    if story is None or not story.asked.placing <= ended.asked.placing:
        return None
    reached = _reached(story, begun, later)
    if reached is None:
        return None
    told = _spliced(story.stories[0], reached, ended, outlook)
    return Splice(replace(story, stories=(told,), snapshot=ended.snapshot), _written(kin, begun, story, told, reached))


def _reached(story: KinStory, begun: KinState, later: Mapping[datetime, bytes]) -> Mark | None:
    """Give the first mark that is as it is stored; where the story ends there is one, if it was one before."""
    marks = (*story.marks, *_end(story))
    for mark, row in zip(marks, mark_rows(marks, begun.asked), strict=True):
        if later.get(row.at) == row.state:
            return mark
    return None


def _end(story: KinStory) -> Iterator[Mark]:
    """Give the end of a story as a mark: without what is ahead, which ends there."""
    if story.snapshot is not None:
        left = replace(story.snapshot.left[0], ahead=None, asked=(), later=())
        yield Mark(replace(story.snapshot, left=(left,)), story.asked.folding)


def _spliced(told: Story, reached: Mark, ended: KinState, outlook: bytes) -> Story:
    """Give the story as it goes on: told up to the mark, and from the end as it was."""
    joins = kept_from(reached)
    way = (one for one in told.intervals if one.since < joins.intervals)
    end = OUTLOOK.decode(outlook)
    return replace(
        told,
        folded=ended.left[0],
        intervals=(*way, *end.intervals),
        coming=end.coming,
        findings=tuple(one for one in told.findings if one.at < joins.findings),
        conflicts=(),
    )


def kept_from(reached: Mark) -> Moments:
    """Give the moments from which on what is stored stays: none of it rests on what was before the mark."""
    left = reached.snapshot.left[0]
    return Moments(left.told_from, left.uses_from, left.at + MOMENT, left.at)


def _written(kin: LoadedKin, begun: KinState, story: KinStory, told: Story, reached: Mark) -> KinWrite:
    """Give what is to be stored of the kin: what changed between the two marks."""
    before, until = begun.left[0], reached.snapshot.left[0].at
    kept = Kept(Moments(before.told_from, before.uses_from, before.at + MOMENT, before.at), kept_from(reached))
    return KinWrite(
        kin=kin.kin,
        expected=kin.version,
        tags=tuple(kin.tags),
        snapshot=kin.snapshot,
        units=(unit_row(told, kept),),
        dependencies=None,
        marks=tuple(row for row in mark_rows(story.marks, begun.asked) if row.at < until),
        marks_from=before.at,
        marks_until=until,
    )
