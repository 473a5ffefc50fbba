"""Say who in a new organisation is competent first, by the same way as every other event takes.

The event comes from whoever runs the service, under a key that is made for it and revoked with it: nobody grants
themselves a competence.
"""

from collections.abc import Sequence
from datetime import UTC, datetime
from uuid import UUID, uuid4

import msgspec

from service.commands import issued_keys
from service.commands.failures import NotRecorded, OwnerNeeded
from service.commands.key_create import created
from service.domain.caller import Caller
from service.ledger import Ledger
from service.record import record
from service.settings import Settings
from service.store.connecting import make_pool

BY = "service-owner"
KEY = "organisation create"


async def train_first_person(
    settings: Settings, organisation: UUID, person: str, competences: Sequence[str]
) -> int | None:
    """Record the competences; gives the event's seq. Raises NotRecorded."""
    url = settings.database_url or settings.migration_database_url
    if url is None:
        raise OwnerNeeded
    key, _ = await created(settings, organisation, "administrator", name=KEY)
    now = datetime.now(UTC)
    event = {
        "id": uuid4(),
        "kind": "trained",
        "occurred_at": now,
        "by": BY,
        "person": person,
        "competences": competences,
    }
    caller = Caller(organisation=organisation, key=key, role="administrator")
    try:
        async with make_pool(url, 1) as pool:
            ledger = Ledger(pool=pool, clock=lambda: datetime.now(UTC))
            message = msgspec.json.encode(event)
            (receipt,) = await record(ledger, caller, [message], received_at=now, sent_at=None, imported=False)
    finally:
        await issued_keys.end(settings, organisation, KEY)
    if receipt.problem is not None:
        raise NotRecorded(str(receipt.problem))
    return receipt.seq
