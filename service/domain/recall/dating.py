"""Dating: an opening of a recall at its place in the order of truth, with what takes it back."""

from collections.abc import Iterator, Mapping, Sequence
from datetime import UTC
from uuid import UUID

from msgspec.structs import replace

from service.domain.facts import fold_key, instant
from service.domain.kinds.recall_opened import RecallOpened
from service.domain.recall.opening import Back, Opening
from service.domain.recorded import Recorded
from service.domain.suspicion import clock_suspect
from service.domain.voiding import own
from service.domain.world import World


def opened_by(
    row: Recorded, event: RecallOpened, taken_back: Mapping[UUID, Sequence[Recorded]], world: World
) -> Iterator[Opening]:
    """Give what an event opens, and again at its receipt where the clock is suspect (R9).

    `taken_back` are the voidings known, by what they void.
    """
    backs = (voiding for voiding in taken_back.get(event.id, ()) if not own(voiding, row))
    opening = Opening(
        recall=event.recall,
        key=fold_key(event, instant(event, None, world)),
        event=event.id,
        by=event.by,
        action=event.action,
        criteria=event.criteria,
        due_on=event.due_on,
        backs=tuple(Back(one.event.id, one.event.by, instant(one.event, None, world)) for one in backs),
    )
    yield opening
    received_at = row.received_at.astimezone(UTC)
    if opening.at != received_at and clock_suspect(row, world):
        yield replace(opening, key=fold_key(event, received_at, echo=True))
