"""Run migrations on the connection the caller made, or on the URL given as `-x url=postgresql://...`.

One transaction: the revisions, then the grants of the serving role (grants.sql), said anew every time, and what the
caller wants done last. Whoever else migrates the same database meanwhile waits.
"""

from pathlib import Path

import psycopg
from alembic import context
from sqlalchemy import Connection, create_engine
from sqlalchemy.pool import NullPool

GRANTS = Path(__file__).with_name("grants.sql").read_text("utf-8")
RAW = {"no_parameters": True}


def url() -> str:
    """Give the owner's URL, as libpq reads it."""
    given = context.config.attributes.get("url") or context.get_x_argument(as_dictionary=True).get("url")
    if not isinstance(given, str):
        message = "say which database: -x url=postgresql://..."
        raise TypeError(message)
    return given


def make_schema(connection: Connection) -> None:
    """Make the schema, which holds alembic's own table too, where it is missing."""
    connection.exec_driver_sql("SELECT pg_advisory_xact_lock(hashtextextended('ledger.migrate', 0))")
    if connection.exec_driver_sql("SELECT to_regnamespace('ledger') IS NULL").scalar_one():
        connection.exec_driver_sql("CREATE SCHEMA ledger")


def migrate() -> None:
    """Bring the schema to the wanted revision, and the grants with it."""
    given = url()
    engine = create_engine("postgresql+psycopg://", creator=lambda: psycopg.connect(given), poolclass=NullPool)
    with engine.begin() as connection:
        make_schema(connection)
        context.configure(connection=connection, version_table_schema="ledger", transactional_ddl=True)
        context.run_migrations()
        connection.exec_driver_sql(GRANTS, execution_options=RAW)
        if last := context.config.attributes.get("last"):
            last(connection.connection.driver_connection)


migrate()
