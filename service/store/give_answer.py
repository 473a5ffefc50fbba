"""Keep the answer that a named request is given, unless one is given again still."""

from datetime import datetime
from typing import Final
from uuid import UUID

import msgspec
from psycopg import AsyncConnection

from service.store.given_answer import GivenAnswer

GIVE_ANSWER: Final = """
INSERT INTO ledger.given_answer AS known (organisation, key, name, asked, given_at, status, media, headers, body)
VALUES (%(organisation)s, %(key)s, %(name)s, %(asked)s, %(at)s, %(status)s, %(media)s, %(headers)s, %(body)s)
ON CONFLICT ON CONSTRAINT given_answer_pk DO UPDATE
SET asked = excluded.asked, given_at = excluded.given_at, status = excluded.status, media = excluded.media,
    headers = excluded.headers, body = excluded.body
WHERE known.given_at <= %(since)s
"""


async def give_answer(
    conn: AsyncConnection,
    organisation: UUID,
    answer: GivenAnswer,
    *,
    key: UUID,
    name: str,
    at: datetime,
    since: datetime,
) -> None:
    """Keep an answer under the name that its request has with a key; one given later than `since` stays."""
    parameters = msgspec.structs.asdict(answer) | {
        "organisation": organisation,
        "key": key,
        "name": name,
        "at": at,
        "since": since,
    }
    await conn.execute(GIVE_ANSWER, parameters)
