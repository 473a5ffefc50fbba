"""Recording in this process, without HTTP, as the rows do that compare the recording alone."""

from collections.abc import Sequence
from datetime import UTC, datetime
from time import perf_counter

from service.domain.caller import Caller
from service.ledger import Ledger
from service.record import record


async def take(ledger: Ledger, caller: Caller, messages: Sequence[bytes], *, imported: bool = False) -> float:
    """Record messages, and give the seconds it took. Raises AssertionError where one is not recorded."""
    began, now = perf_counter(), datetime.now(UTC)
    receipts = await record(ledger, caller, messages, received_at=now, sent_at=now, imported=imported)
    took = perf_counter() - began
    assert {receipt.status for receipt in receipts} == {201}, receipts[0]
    return took
