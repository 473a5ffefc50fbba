"""What one firm holds up is not held up for another."""

import asyncio

from tests.http.doors import FOREIGN, OURS
from tests.http.firm import checked, the_firm
from tests.http.keys import Keys
from tests.http.listening import listening_to
from tests.http.test_hanging_up import HOLD, LET_GO
from tests.http.test_long_poll import PATIENCE, asked


async def test_readers_that_wait_leave_connections_to_others(app_url: str, keys: Keys) -> None:
    """As many readers as the pool has connections wait for the lock of a firm; another firm posts meanwhile."""
    ours, theirs = await keys.make("administrator"), await keys.make("administrator", organisation=FOREIGN)
    async with (
        asyncio.timeout(PATIENCE),
        listening_to(app_url) as service,
        asked(service, ours) as http,
        asked(service, theirs) as others,
    ):
        for one in (http, others):
            await one.post("/v1/events", json=the_firm())
        await keys.owner.execute(HOLD, {"organisation": OURS})
        readers = [asyncio.create_task(http.get("/v1/sites")) for _ in range(service.ledger.pool.max_size)]
        places = service.ledger.readers.of(OURS, service.ledger.pool)
        while not places.locked():  # noqa: ASYNC110 - the service tells nobody who waits
            await asyncio.sleep(0)
        posted = await others.post("/v1/events", json=checked())
        waited = [reader.done() for reader in readers]
        await keys.owner.execute(LET_GO, {"organisation": OURS})
        told = [(await reader).status_code for reader in readers]

    assert posted.status_code == 201
    assert (waited, told) == ([False] * 4, [200] * 4)
