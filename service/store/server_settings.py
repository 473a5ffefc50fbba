"""The settings of the server that the service's promises rest on."""

from typing import Final

from psycopg import AsyncConnection

SERVER_SETTINGS: Final = """
SELECT name, current_setting(name) FROM unnest(
    ARRAY ['fsync', 'synchronous_commit', 'full_page_writes', 'server_encoding', 'server_version_num']) AS name
"""


async def server_settings(conn: AsyncConnection) -> dict[str, str]:
    """Give the settings by name, as they hold for this connection."""
    cursor = await conn.execute(SERVER_SETTINGS)
    return dict(await cursor.fetchall())
