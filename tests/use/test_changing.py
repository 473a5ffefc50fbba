"""Changes of one definition at once, from two processes that know nothing of each other."""

import asyncio

import msgspec

from service import assess
from service.define import put_reference
from service.domain.current import Name
from service.domain.errors import VersionMismatch
from service.domain.starting import Start, Versions
from service.ledger import Ledger
from service.record import Receipt
from service.store.connecting import make_pool
from tests.oracle.firm import FIRM
from tests.use.conftest import NOW
from tests.use.posting import post
from tests.use.test_reports import OFFICE
from tests.use.test_waiting import named

DOCK = Name("dock")


async def test_of_two_changes_from_one_version_exactly_one_is_recorded(ledger: Ledger, app_url: str) -> None:
    """Each of two services starts from the version it read; one records its change, the other is told it came late."""
    await post(ledger, named(FIRM))
    said, version = await assess.reference(ledger, OFFICE, "site", DOCK)
    fields = {name: said[name] for name in ("by", "profile", "time_zone", "employer", "calendar")}

    async def change(service: Ledger, name: str) -> Receipt | VersionMismatch:
        raw = msgspec.json.encode(fields | {"name": name})
        try:
            return await put_reference(service, OFFICE, "site", DOCK, raw, Start(Versions(frozenset({version}))))
        except VersionMismatch as error:
            return error

    async with make_pool(app_url, 4) as pool:
        services = (ledger, Ledger(pool=pool, clock=lambda: NOW))
        told = await asyncio.gather(*(change(services[nth % 2], f"Dock {nth}") for nth in range(6)))
    recorded = [one for one in told if isinstance(one, Receipt)]
    late = [one for one in told if isinstance(one, VersionMismatch)]
    assert ([one.status for one in recorded], len(late)) == ([200], 5)
    now, newest = await assess.reference(ledger, OFFICE, "site", DOCK)
    assert (newest, {one.current for one in late}) == (recorded[0].seq, {recorded[0].seq})
    assert now["name"] == f"Dock {told.index(recorded[0])}"
