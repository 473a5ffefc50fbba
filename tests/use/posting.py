"""Posts the oracle's histories as the service takes them, and shows the log that results as the oracle takes it."""

from collections.abc import Iterable, Sequence
from datetime import timedelta
from hashlib import sha256
from itertools import groupby
from typing import Final
from uuid import NAMESPACE_OID, UUID, uuid5

import msgspec

from service.assessing.moment import asked
from service.domain.caller import Caller
from service.ledger import Ledger
from service.record import Receipt, record
from service.store.feed import feed
from tests.domain.folding import key_of
from tests.oracle.firm import SET_UP
from tests.oracle.histories import KEYS
from tests.oracle.posting import Posted, moment
from tests.oracle.record import Record

ORGANISATION = UUID("0198c1f2-0000-7000-8000-00000000000a")
SET_UP_BY: Final = moment(SET_UP) + timedelta(minutes=1)
"""When all that sets a firm up has been received."""
NAMES = {key_of(name): name for name in KEYS}


def caller_of(name: str) -> Caller:
    """Give the caller whose key has a name of the histories."""
    role, sites = KEYS[name]
    return msgspec.convert({"organisation": ORGANISATION, "key": key_of(name), "role": role, "sites": sites}, Caller)


def secret_hash(name: str) -> bytes:
    """Give a hash that no other key has; nobody asks over HTTP here."""
    return sha256(uuid5(NAMESPACE_OID, name).bytes).digest()


async def post(ledger: Ledger, posted: Iterable[Posted]) -> list[Receipt]:
    """Post messages one by one, each when it was received and with its key; what sets the firm up goes in batches."""
    receipts: list[Receipt] = []
    for _, sent in groupby(enumerate(posted), _sending):
        receipts += await post_together(ledger, [one for _, one in sent])
    return receipts


def _sending(numbered: tuple[int, Posted]) -> tuple[object, ...]:
    """Say which messages come as one: of what sets the firm up, which takes long one by one, all sent alike."""
    number, one = numbered
    alike = (one.key, one.received_at, one.sent_at, one.imported)
    return alike if one.received_at <= SET_UP_BY else (*alike, number)


async def post_together(ledger: Ledger, posted: Sequence[Posted]) -> list[Receipt]:
    """Post messages of one key and receipt as a batch."""
    first = posted[0]
    return await record(
        ledger,
        caller_of(first.key),
        [msgspec.json.encode(one.message) for one in posted],
        received_at=first.received_at,
        sent_at=first.sent_at,
        imported=first.imported,
    )


async def log_of(ledger: Ledger) -> list[Record]:
    """Give the log as the oracle takes it."""
    async with asked(ledger, caller_of("office")) as question:
        stored = await feed(question.conn, ORGANISATION, after=0, limit=100_000)
    return [
        Record(
            message=msgspec.json.decode(one.body),
            seq=one.recorded.seq,
            received_at=one.recorded.received_at,
            recorded_at=one.recorded.recorded_at,
            sent_at=one.recorded.sent_at,
            key=NAMES[one.recorded.key],
            imported=one.recorded.imported,
            role=KEYS[NAMES[one.recorded.key]][0],
            sites=KEYS[NAMES[one.recorded.key]][1],
        )
        for one in stored
    ]
