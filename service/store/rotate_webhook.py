"""Give a webhook another signing secret; the one before may sign beside it for a while."""

from datetime import datetime
from typing import Final
from uuid import UUID

from psycopg import AsyncConnection

ROTATE_WEBHOOK: Final = """
UPDATE ledger.webhook
SET version = version + 1, salt = %(salt)s, mark = %(mark)s, old_until = %(old_until)s::timestamptz,
    old_salt = CASE WHEN %(old_until)s::timestamptz IS NOT NULL THEN salt END
WHERE organisation = %(organisation)s AND id = %(id)s
"""


async def rotate_webhook(
    conn: AsyncConnection, organisation: UUID, webhook: UUID, *, salt: bytes, mark: bytes, old_until: datetime | None
) -> bool:
    """Set the salt and mark of the new secret; the old one signs no more where `old_until` is None."""
    parameters = {
        "organisation": organisation,
        "id": webhook,
        "salt": salt,
        "mark": mark,
        "old_until": old_until,
    }
    return (await conn.execute(ROTATE_WEBHOOK, parameters)).rowcount == 1
