"""The acknowledgements of exceptions: of one row of a report, of a report, or all of them."""

from typing import Final
from uuid import UUID

from psycopg import AsyncConnection

from service.domain.recorded import Recorded
from service.store.stored import read_recorded

ACKNOWLEDGEMENTS: Final = """
SELECT organisation, seq, kind, kind_version, received_at, recorded_at, sent_at, key, imported, body
FROM ledger.event
WHERE organisation = %(organisation)s AND kind = 'exception-acknowledged' AND seq IN (
    SELECT s.seq FROM ledger.event_subject s
    WHERE s.organisation = %(organisation)s AND s.seq <= %(until_seq)s
        AND s.subject >= 'exception:' || %(report)s AND s.subject < 'exception:' || %(report)s || '~')
ORDER BY seq
"""


async def acknowledgements(
    conn: AsyncConnection, organisation: UUID, *, report: str | None, until_seq: int
) -> list[Recorded]:
    """Give the acknowledgements known by `until_seq`, of a report or (None) of all."""
    begins = "" if report is None else f"{report}/"
    return await read_recorded(
        conn, ACKNOWLEDGEMENTS, {"organisation": organisation, "until_seq": until_seq, "report": begins}
    )
