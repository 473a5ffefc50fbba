"""Dating: an opening of a recall at its place in the order of truth, with what takes it back."""

from collections.abc import Mapping, Sequence
from uuid import UUID

from service.domain.facts import fold_key, instant
from service.domain.kinds.recall_opened import RecallOpened
from service.domain.recall.opening import Back, Opening
from service.domain.recorded import Recorded
from service.domain.voiding import own
from service.domain.world import World


def opening_of(
    row: Recorded, event: RecallOpened, taken_back: Mapping[UUID, Sequence[Recorded]], world: World
) -> Opening:
    """Give what an event opens; `taken_back` are the voidings known, by what they void."""
    backs = (voiding for voiding in taken_back.get(event.id, ()) if not own(voiding, row))
    return Opening(
        recall=event.recall,
        key=fold_key(event, instant(event, None, world)),
        event=event.id,
        by=event.by,
        action=event.action,
        criteria=event.criteria,
        due_on=event.due_on,
        backs=tuple(Back(one.event.id, one.event.by, instant(one.event, None, world)) for one in backs),
    )
