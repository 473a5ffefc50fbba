"""All events of a device of the kinds that can be bad news."""

from collections.abc import Iterable
from typing import Final
from uuid import UUID

from psycopg import AsyncConnection

from service.domain.recorded import Recorded
from service.store.arrays import Texts
from service.store.stored import read_recorded

ADVERSE_OF_DEVICE: Final = """
SELECT organisation, seq, kind, kind_version, received_at, recorded_at, sent_at, key, imported, body
FROM ledger.event
WHERE organisation = %(organisation)s AND device = %(device)s AND device_seq IS NOT NULL
    AND kind = ANY (%(kinds)s::text[])
ORDER BY seq
"""


async def adverse_of_device(
    conn: AsyncConnection, organisation: UUID, device: str, kinds: Iterable[str]
) -> list[Recorded]:
    """Give the device's counted events of these kinds that are adverse, in order of seq."""
    found = await read_recorded(
        conn, ADVERSE_OF_DEVICE, {"organisation": organisation, "device": device, "kinds": Texts(kinds)}
    )
    return [recorded for recorded in found if recorded.event.adverse()]
