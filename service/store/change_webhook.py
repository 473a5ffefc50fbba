"""Change what a webhook sends, and where to; whatever stopped it is over."""

from typing import Any, Final
from uuid import UUID

import msgspec
from psycopg import AsyncConnection

from service.domain.webhook import Wish
from service.store.arrays import Texts

CHANGE_WEBHOOK: Final = """
UPDATE ledger.webhook
SET version = version + 1, key = %(key)s, url = %(url)s, purpose = %(purpose)s, kinds = %(kinds)s::text[],
    site = %(site)s, subject = %(subject)s, state = %(state)s, reason = NULL, failures = 0, failing_since = NULL,
    rests_until = NULL
WHERE organisation = %(organisation)s AND id = %(id)s AND version = %(version)s
"""


def columns_of(wish: Wish) -> dict[str, Any]:
    """Give what is wanted by the names of its columns."""
    return msgspec.structs.asdict(wish) | {"kinds": None if wish.kinds is None else Texts(wish.kinds)}


async def change_webhook(
    conn: AsyncConnection, organisation: UUID, webhook: UUID, wish: Wish, *, version: int, key: UUID
) -> bool:
    """Change the webhook; False where it is at another version, or gone."""
    whose = {"organisation": organisation, "id": webhook, "version": version, "key": key}
    return (await conn.execute(CHANGE_WEBHOOK, columns_of(wish) | whose)).rowcount == 1
