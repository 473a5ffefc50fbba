"""Give a webhook another signing secret; those before may sign beside it for a while."""

from datetime import datetime
from typing import Final
from uuid import UUID

from psycopg import AsyncConnection

ROTATE_WEBHOOK: Final = """
UPDATE ledger.webhook w
SET version = w.version + 1, salt = %(salt)s, mark = %(mark)s,
    (old_salts, old_untils) = (
        SELECT coalesce(array_agg(o.salt ORDER BY o.until DESC), '{}'),
            coalesce(array_agg(o.until ORDER BY o.until DESC), '{}')
        FROM (
            SELECT u.salt, u.until FROM unnest(w.old_salts, w.old_untils) u (salt, until)
            UNION ALL SELECT w.salt, %(old_until)s::timestamptz) o
        WHERE %(old_until)s::timestamptz IS NOT NULL AND o.until > %(now)s)
WHERE w.organisation = %(organisation)s AND w.id = %(id)s AND (
    %(old_until)s::timestamptz IS NULL
    OR (SELECT count(*) FROM unnest(w.old_untils) u (until) WHERE u.until > %(now)s) < %(most)s)
"""


async def rotate_webhook(
    conn: AsyncConnection,
    organisation: UUID,
    webhook: UUID,
    *,
    salt: bytes,
    mark: bytes,
    now: datetime,
    old_until: datetime | None,
    most: int,
) -> bool:
    """Set the salt and mark of the new secret; False where `most` older ones sign still.

    The one before signs until `old_until`, and those before it as long as was said; where that is None none signs.
    """
    parameters = {
        "organisation": organisation,
        "id": webhook,
        "salt": salt,
        "mark": mark,
        "now": now,
        "old_until": old_until,
        "most": most,
    }
    return (await conn.execute(ROTATE_WEBHOOK, parameters)).rowcount == 1
