"""A draft of a kin: what is loaded of it, what is new, and what both mean together."""

from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime
from typing import NamedTuple
from uuid import UUID

from msgspec.structs import replace

from service.domain.conflict import Conflict
from service.domain.event import AssetEvent
from service.domain.facts import instant, place
from service.domain.fold import Folded, Story
from service.domain.identity import KINDS
from service.domain.intervals import MOMENT
from service.domain.kin import KinStory, Report, fold_kin, lengthened, resume
from service.domain.placing import CARRIES_SITE, shows_by, siteless
from service.domain.recorded import Recorded
from service.domain.snapshot import Asked
from service.domain.standing import BEGINNING, FOREVER
from service.domain.world import World
from service.recording.filing import moment_of
from service.recording.rows import Kept, Moments, state_bytes, unit_row
from service.recording.runs import places, runs
from service.recording.splicing import simple, splice
from service.recording.state import STATE, KinState, mark_rows, state_of
from service.store.kin_write import KinWrite
from service.store.load_kins import LoadedKin


class TurnedAway(NamedTuple):
    """What contradicts an event that is not to be recorded then, and the site where its unit is without it."""

    conflicts: tuple[Conflict, ...]
    home: str | None


class Draft:
    """A kin on its way to be written.

    `guarded` are those of its new events that are not to be recorded if they contradict the history, `turned_away`
    those that do: the kin is then decided again without them.
    """

    def __init__(self, loaded: Iterable[LoadedKin] = ()) -> None:
        self.loaded = list(loaded)
        self.tags: set[str] = {tag for kin in self.loaded for tag in kin.tags}
        self.new: list[Recorded] = []
        self.guarded: set[UUID] = set()
        self.turned_away: dict[UUID, TurnedAway] = {}
        self.old: list[Recorded] | None = None
        self.reports: list[Report] = []
        self.anew = False
        self.again = False
        self._state: KinState | None = None
        self._base: KinState | None = None
        self.story: KinStory | None = None
        self.conflicts: dict[UUID, list[Conflict]] = {}
        self.changed_from: datetime | None = None
        self._spliced: KinWrite | None = None

    @property
    def name(self) -> str:
        """Give the kin's name: its smallest tag."""
        return min(self.tags)

    def absorb(self, other: "Draft") -> None:
        """Take over another kin: from now on both are folded as one."""
        self.loaded += other.loaded
        self.tags |= other.tags
        self.new = sorted([*self.new, *other.new], key=lambda row: row.seq)
        self.guarded |= other.guarded
        self.old = None
        self.anew = True

    def state(self) -> KinState | None:
        """Give what was stored to fold on from, if the kin may be folded on at all."""
        if self.anew or len(self.loaded) != 1 or not self.loaded[0].snapshot:
            return None
        if self._state is None:
            self._state = STATE.decode(self.loaded[0].snapshot)
        return self._state

    def judge_again(self, since: datetime | None) -> None:
        """Have the kin judged again from a moment on, or from its beginning (None, and where it was folded past that).

        What was folded before the moment stays as it is; what was said of the time to come does not.
        """
        self.tell_again(since)
        self.again = True

    def tell_again(self, since: datetime | None) -> None:
        """Have the kin folded from its beginning if it was folded past a moment (None: whenever that was)."""
        state = self.state()
        if since is None or state is None or any(left.at >= since for left in state.left):
            self.anew = True

    def begin(self) -> None:
        """Forget what an earlier fold told."""
        self.story = self._spliced = None
        self.conflicts.clear()
        self.turned_away.clear()

    def fold_on(self, world: World) -> bool:
        """Fold the new rows on from where the kin was left; False where they reach back, or nothing was left."""
        state = self.state()
        if state is None or state.snapshot is None or len(runs(self.new, self.guarded, world)) > 1:
            return False
        fresh = world.fresh()
        snapshot = state.snapshot.without_outlook() if self.again else state.snapshot
        story = resume(snapshot, self.new, tuple(sorted(self.tags)), fresh)
        if story is None:
            return False
        home = self._home(self.new)
        self._base = state
        self._told(story)
        self._turns_away(self.new, home, world)
        return True

    def fold_anew(self, world: World) -> None:
        """Fold the kin from its beginning."""
        self.changed_from = self._earliest()
        self.fold_from(None, world)

    def fold_from(self, base: KinState | None, world: World) -> bool:
        """Fold the kin from a mark or from its beginning (None); False where something reaches back before the mark.

        It is folded on or again for each run of rows that follow one another in the fold. A row's conflicts are those
        it has with what was recorded before it. What is turned away is folded no further.
        """
        known = list(self.old or ())
        self.story, self._base = None, base
        first: list[list[Recorded]] = [[]] if known and self.guarded else []
        cut = runs(self.new, self.guarded, world, places(known, self.new, world))
        for run in [*first, *cut] or [[]]:
            before, home = self.story, self._home(run)
            story = self._folded([*known, *run], run, world.fresh())
            if story is None:
                return False
            self._told(story, only={row.event.id for row in run})
            if self._turns_away(run, home, world):
                self.story = before
            else:
                known += run
        return True

    def splice(self, base: KinState, later: Mapping[datetime, bytes], outlook: bytes, world: World) -> bool:
        """Fold the kin from a mark to one of the later ones that it reaches as it did; False where it does not."""
        state = self.state()
        if state is None or not self.may_splice(world):
            return False
        rows = [*(self.old or ()), *self.new]
        found = splice(self.loaded[0], (base, state), rows, later, outlook, world.fresh())
        if found is None:
            return False
        self._told(found.story, only={row.event.id for row in self.new})
        self._spliced = found.write
        return True

    def _folded(self, known: Sequence[Recorded], run: Sequence[Recorded], world: World) -> KinStory | None:
        """Fold on for a run, or from the base for all that is known."""
        tags = tuple(sorted(self.tags))
        if self.story is not None and self.story.snapshot is not None:
            more = resume(self.story.snapshot, run, tags, world)
            if more is not None:
                return lengthened(self.story, more)
        if self._base is None or self._base.snapshot is None:
            return fold_kin(known, self.reports, world)
        return self._with_days(resume(self._base.snapshot, known, tags, world))

    def _with_days(self, story: KinStory | None) -> KinStory | None:
        """Add to a story that was told from a mark what a mark does not tell: no day is new where one was used."""
        state = self.state()
        if story is None or story.snapshot is None or state is None or state.snapshot is None:
            return story
        return replace(story, snapshot=replace(story.snapshot, days=state.snapshot.days))

    def _home(self, run: Sequence[Recorded]) -> str | None:
        """Give the site where the unit of a run is as it was left, None for a unit that is new."""
        event = run[0].event if run else None
        if not isinstance(event, AssetEvent):
            return None
        told = self.told(event.asset)
        left = self.stored(event.asset) if told is None else told.folded
        return None if left is None else left.unit.site

    def _turns_away(self, run: Sequence[Recorded], home: str | None, world: World) -> bool:
        """Turn away a guarded event, a run by itself, with its conflicts; what fails by its readings is bad news."""
        event = run[0].event if run else None
        if not isinstance(event, AssetEvent) or event.id not in self.guarded:
            return False
        conflicts, told = self.conflicts.get(event.id, []), self.told(event.asset)
        model = None if told is None else world.model(told.folded.unit.model, instant(event, None, world))
        if not conflicts or event.fails(model):
            return False
        self.turned_away[event.id] = TurnedAway(tuple(conflicts), home)
        return True

    def _earliest(self) -> datetime | None:
        """Give the moment before which nothing changes: that of the earliest new event, if those alone are the reason.

        A fold is causal: an event changes nothing before its instant, nor before its receipt if it counts then, too.
        But where a unit was says when the days began and ended that were told of it without a site.
        """
        if self.anew or self.again or not self.loaded or not self.new:
            return None
        placing = any(isinstance(row.event, KINDS) or row.event.kind in CARRIES_SITE for row in self.new)
        return min(map(moment_of, (*self.new, *(siteless(self.old or ()) if placing else ()))))

    def _told(self, story: KinStory, only: set[UUID] | None = None) -> None:
        self.story = story
        for found in story.conflicts:
            if only is None or found.event in only:
                self.conflicts.setdefault(found.event, []).append(found.conflict)

    def late_from(self, world: World) -> datetime | None:
        """Give the earliest moment at which what is new counts, if that is all that the kin is folded again for."""
        if self.state() is None or self.again or self.old is not None:
            return None
        if any(row.event.occurred_at is None and row.event.site is None for row in self.new):
            return None
        return min((min(instant(row.event, None, world), row.received_at) for row in self.new), default=None)

    def may_splice(self, world: World) -> bool:
        """Say whether what is new follows each other, so that it can be folded in one go."""
        return len(runs(self.new, self.guarded, world)) <= 1

    def late_to(self, world: World) -> datetime | None:
        """Give the latest instant of what is new; None where it may not be spliced.

        That is where something counts at its receipt too, is guarded, or shows the unit at a site before a day that was
        told without one: wherever the unit is reached as it was, that day may have moved.
        """
        if self.guarded or not all(simple(row.event) for row in self.new):
            return None
        state = self.state()
        days = None if state is None or state.snapshot is None else state.snapshot.days
        if any(shows_by(place(row, None, world), days) for row in self.new):
            return None
        return max((instant(row.event, None, world) for row in self.new), default=None)

    def write(self) -> KinWrite:
        """Give what is to be stored of the kin."""
        if self._spliced is not None:
            return self._spliced
        if self.story is None:  # pragma: no cover - a draft is folded before it is written
            raise RuntimeError(self.name)
        before = Asked() if self._base is None else self._base.asked
        asked = before.joined(self.story.asked)
        own = next((kin for kin in self.loaded if kin.kin == self.name), None)
        return KinWrite(
            kin=self.name,
            expected=0 if own is None else own.version,
            tags=tuple(sorted(self.tags)),
            absorbed=tuple((kin.kin, kin.version) for kin in self.loaded if kin.kin != self.name),
            snapshot=state_bytes(state_of(self.story.snapshot, asked)),
            units=tuple(unit_row(told, self._kept(told)) for told in self.story.stories),
            dependencies=None if self._goes_on and self._asks_alike(asked) else self._dependencies(asked),
            marks=tuple(mark_rows(self.story.marks, before)),
            marks_from=self._marked_from,
        )

    def _dependencies(self, asked: Asked) -> tuple[str, ...]:
        """Name all that the judgement of the kin rests on."""
        left = [told.folded for told in self.story.stories] if self.story else []
        to_come = (ref for folded in left for ref in (*folded.asked, *folded.later))
        return tuple(sorted({*asked.placing, *asked.folding, *to_come}))

    def _asks_alike(self, asked: Asked) -> bool:
        """Say whether it rests on nothing else than it did where it was left."""
        base, story = self._base, self.story
        if base is None or story is None or asked != base.asked:
            return False
        told = [one.folded for one in story.stories]
        return [(one.asked, one.later) for one in base.left] == [(one.asked, one.later) for one in told]

    @property
    def _goes_on(self) -> bool:
        """Say whether the kin was folded on from where it was left."""
        return self._base is not None and self._base is self._state

    @property
    def _anew_from(self) -> datetime | None:
        """Give the moment from which on all that is stored is folded anew: None for all of it, FOREVER for nothing."""
        if self._base is None:
            return None
        return FOREVER if self._goes_on else self._base.left[0].at + MOMENT

    @property
    def _marked_from(self) -> datetime | None:
        """Give the moment from which on marks are made anew: of the mark itself, since another fact may follow it."""
        return self._anew_from if self._base is None or self._goes_on else self._base.left[0].at

    def _kept(self, told: Story) -> Kept | None:
        """Say what of a unit's stored rows still holds; None where they are written anew."""
        state = self.state() if self._base is None else self._base
        left = () if state is None else state.left
        before = next((one for one in left if one.unit.unit == told.folded.unit.unit), None)
        anew_from = self._anew_from
        if anew_from is not None and before is not None:
            stays = FOREVER if self._goes_on else before.at
            return Kept(Moments(before.told_from, before.uses_from, anew_from, stays))
        if self.changed_from is None or before is None:
            return None
        since = next((one.since for one in told.intervals if one.until > self.changed_from), None)
        if since is None or since >= self.changed_from:
            return None
        going_on = (use.at for use in told.uses if use.until is not None and use.until > self.changed_from)
        uses_from = min(self.changed_from, before.uses_from, *going_on)
        return Kept(Moments(since, uses_from, self.changed_from, BEGINNING))

    def stored(self, tag: str) -> Folded | None:
        """Give the unit that a tag means, as it is stored: the one that has it, else the last that had it."""
        state = self.state()
        if state is None or state.snapshot is None:
            return None
        unit = state.snapshot.owners.get(tag)
        return next((one for one in state.left if one.unit.unit == unit), None)

    def told(self, tag: str) -> Story | None:
        """Give the story of the unit that a tag means: the one that has it, else the last that had it."""
        if self.story is None or self.story.snapshot is None:
            return None
        unit = self.story.snapshot.owners.get(tag)
        return next((told for told in self.story.stories if told.folded.unit.unit == unit), None)
