"""Campaigns: a recall as it was opened, perhaps more than once, and closed, as known."""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from datetime import UTC, datetime
from typing import Final, NamedTuple
from uuid import UUID

import msgspec

from service.domain.conflict import UNKNOWN_RECALL
from service.domain.facts import instant
from service.domain.kinds.recall_closed import RecallClosed
from service.domain.kinds.recall_opened import RecallOpened
from service.domain.recall.asks import Ask, asked_by, most_of
from service.domain.recall.dating import opened_by
from service.domain.recall.opening import Opening
from service.domain.recorded import Recorded
from service.domain.voiding import every_voiding
from service.domain.world import World

UNREASONED: Final = "units-outstanding"
IDLE: Final = "reason-without-unit"

Reason = tuple[UUID, str]
"""Where the text of a reason is kept: by the event that gives it, and its path in that."""


class Given(NamedTuple):
    """A reason why the unit that a tag meant at a moment, as it was said, was not dealt with."""

    tag: str
    at: datetime
    reason: Reason


class Closing(msgspec.Struct, frozen=True):
    """What is to end a campaign: its instant, and by tag the reasons it gives that count.

    They are of what there was as they were `said`, no later than it was received: who states a day alone foresees
    nothing of it. As it was recorded it was held against the openings known (`held_to`: up to which seq, 0 where there
    was none). It is not `whole`, and ends nothing, where units were left without a reason then.
    """

    seq: int
    at: datetime
    said: datetime
    reasons: dict[str, Reason]
    held_to: int
    whole: bool

    def ends(self, asked: int) -> bool:
        """Say whether it ends a campaign that asks something of units by openings up to a seq."""
        return self.whole and self.held_to >= asked


class Campaign(msgspec.Struct, frozen=True):
    """A recall by its name, with what opened it in order of time; a rehearsal if every opening is one.

    Once it was opened in earnest its rehearsals are left out, and of those that were rehearsed and closed all but
    what was opened since: a repeated drill is measured from its own beginning. What closes it is later than its
    newest opening, and was held against each that asks something of units, the newest of which to be recorded is
    `asked` (0 where none asks anything). All `closings` that are later than that one are kept, and the reasons
    `given` since, in order (a list has an end, so several may be needed): what was opened since and asks nothing of
    units leaves them as they are. An event whose clock is suspect opens it twice, and counts as the `newest`
    opening when it was received: nobody answers what was not, and what its clock says later asks nothing anew. As
    of `until`, an opening voided by then stands no more, yet what it had reached stays under it (design 3.6).
    """

    recall: str
    openings: tuple[Opening, ...]
    newest: datetime
    rehearsal: bool
    closings: tuple[Closing, ...]
    given: tuple[Given, ...]
    asked: int
    until: datetime

    @property
    def closing(self) -> Closing | None:
        """Give the last of what closed it since it was last opened; None while it goes on.

        A rehearsal is over with the first: what is found later, and closed once more, was not found in it.
        """
        ends = [one for one in self.closings if one.at > self.newest and one.ends(self.asked)]
        return next(iter(ends if self.rehearsal else reversed(ends)), None)

    @property
    def standing(self) -> tuple[Opening, ...]:
        """Give the openings that nobody took back."""
        return tuple(one for one in self.openings if one.until is None or one.until > self.until)

    @property
    def meant(self) -> tuple[Opening, ...]:
        """Give the openings by which it is told what it asks: those that stand; once all are voided, all of them."""
        return self.standing or self.openings

    @property
    def most(self) -> Ask:
        """Give the most that they ask, and the earliest day by which they ask anything."""
        return most_of(asked_by(self.meant))

    @property
    def at(self) -> datetime:
        """Give the instant it was first opened at."""
        return self.openings[0].at

    @property
    def voided_at(self) -> datetime | None:
        """Give the instant since which it is voided altogether."""
        ends = [opening.until for opening in self.openings]
        known = [end for end in ends if end is not None]
        return max(known) if len(known) == len(ends) else None


class _Opened(NamedTuple):
    """One opening, when it was recorded, and whether it is a rehearsal."""

    opening: Opening
    seq: int
    rehearsal: bool

    @property
    def asks(self) -> bool:
        """Say whether it asks something of units, so that who closes it needs a reason for each."""
        return not self.rehearsal and self.opening.action != "information"


def campaigns(rows: Iterable[Recorded], world: World, until: datetime) -> dict[str, Campaign]:
    """Give the recalls that were opened by a moment, by name. A closing that was voided closes nothing."""
    known = list(rows)
    taken_back = every_voiding(known)
    opened: defaultdict[str, list[_Opened]] = defaultdict(list)
    closed: defaultdict[str, list[Closing]] = defaultdict(list)
    for row in known:
        event = row.event
        if isinstance(event, RecallOpened):
            every = (_Opened(one, row.seq, event.rehearsal) for one in opened_by(row, event, taken_back, world))
            opened[event.recall] += [one for one in every if one.opening.at <= until]
        elif isinstance(event, RecallClosed) and event.id not in taken_back:
            at = instant(event, None, world)
            if at <= until:
                closed[event.recall].append(_closing(row, event, at))
    return {
        recall: _campaign(recall, opened[recall], closed[recall], until) for recall in sorted(opened) if opened[recall]
    }


def _closing(row: Recorded, event: RecallClosed, at: datetime) -> Closing:
    idle = {tag for conflict in row.conflicts if conflict.code == IDLE for tag in conflict.assets}
    given = enumerate(event.outstanding)
    reasons = {one.asset: (event.id, f"outstanding[{nth}].reason") for nth, one in given if one.asset not in idle}
    codes = {conflict.code for conflict in row.conflicts}
    return Closing(
        seq=row.seq,
        at=at,
        said=min(at, row.received_at.astimezone(UTC)),
        reasons=reasons,
        held_to=0 if UNKNOWN_RECALL.code in codes else row.seq,
        whole=UNREASONED not in codes,
    )


def _campaign(recall: str, opened: Iterable[_Opened], closed: Iterable[Closing], until: datetime) -> Campaign:
    every = sorted(opened, key=lambda one: one.opening.key)
    ends = list(closed)
    counting = [one for one in every if not one.rehearsal] or _last_drill(every, ends)
    came = _came(counting)
    asking = max((came[one.opening.event] for one in counting if one.asks), default=counting[0].opening.at)
    closings = sorted((one for one in ends if one.at > asking), key=lambda one: (one.at, one.seq))
    return Campaign(
        recall,
        openings=tuple(one.opening for one in counting),
        newest=max(came.values()),
        rehearsal=counting[0].rehearsal,
        closings=tuple(closings),
        given=tuple(_given(closings, asking)),
        asked=max((one.seq for one in counting if one.asks), default=0),
        until=until,
    )


def _came(opened: Iterable[_Opened]) -> dict[UUID, datetime]:
    """Give by event when it opened the recall: when it was received, where it counts then, too."""
    return {one.opening.event: one.opening.at for one in sorted(opened, key=lambda one: one.opening.echo)}


def _given(closings: Iterable[Closing], asking: datetime) -> Iterator[Given]:
    """Give the reasons that were said since units were asked about, in order."""
    for one in sorted(closings, key=lambda one: (one.said, one.seq)):
        if one.said > asking:
            yield from (Given(tag, one.said, reason) for tag, reason in one.reasons.items())


def _last_drill(every: Sequence[_Opened], closed: Iterable[Closing]) -> list[_Opened]:
    """Give what was rehearsed since the last closing before it was opened again."""
    newest = max(_came(every).values())
    over = max((one.at for one in closed if one.whole and one.at <= newest), default=None)
    return [one for one in every if over is None or one.opening.at >= over]
