"""Record what happened: load, decide, append.

Every message is decided by itself; none fails its neighbours. What is acknowledged is on disk, and what was derived
from it with it. Events that decisions rest on (reference data, persons, recalls) are recorded before what follows them,
and acknowledgements and closings of recalls after what precedes them, since it may be what they are about.
"""

from collections.abc import Sequence
from datetime import datetime

from service.comparing import compared, together
from service.domain.caller import Caller
from service.ledger import Ledger
from service.recording.admission import read
from service.recording.in_turn import record_all
from service.recording.incoming import Incoming, Receipt, Sender

__all__ = ["Receipt", "record"]


async def record(
    ledger: Ledger,
    caller: Caller,
    messages: Sequence[bytes],
    *,
    received_at: datetime,
    sent_at: datetime | None,
    imported: bool = False,
    strict: bool = False,
) -> list[Receipt]:
    """Record messages, each the text of one JSON object; give a receipt for each, in their order.

    With `strict` what contradicts the history is turned away and leaves nothing, bad news excepted (design 3.7).

    Raises Unavailable when others kept the organisation's log too busy; what was recorded by then is only repeated.
    """
    sender = Sender(
        key=caller.key,
        role=caller.role,
        sites=caller.sites,
        received_at=received_at,
        sent_at=sent_at,
        imported=imported,
    )
    reads = [read(Incoming(raw=message, sender=sender, strict=strict)) for message in messages]
    receipts: list[Receipt] = []
    for group in together(reads):
        receipts += await record_all(ledger, caller.organisation, await compared(ledger, caller, group))
    return receipts
