"""Dating: an opening of a recall at its place in the order of truth, with what takes it back."""

from collections.abc import Iterator, Mapping, Sequence
from datetime import UTC
from uuid import UUID

from msgspec.structs import replace

from service.domain.facts import fold_key, instant
from service.domain.kinds.recall_opened import RecallOpened
from service.domain.recall.opening import Back, Opening
from service.domain.recorded import Recorded
from service.domain.suspicion import counts_at_receipt
from service.domain.voiding import own
from service.domain.world import World


def opened_by(
    row: Recorded, event: RecallOpened, taken_back: Mapping[UUID, Sequence[Recorded]], world: World
) -> Iterator[Opening]:
    """Give what an event opens, and again at its receipt where its moment is suspect or impossible (R9, design 3.6).

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
    if counts_at_receipt(row, opening.at, world):
        yield replace(opening, key=fold_key(event, row.received_at.astimezone(UTC), echo=True))
