import psycopg

from tests.databases.clone import Database, url_for


def test_server_is_durable(empty_database: Database) -> None:
    """Tests run with fsync, synchronous_commit and full_page_writes on."""
    with psycopg.connect(empty_database.owner_url) as connection:
        shown = {
            setting: connection.execute("SELECT current_setting(%s)", (setting,)).fetchone()
            for setting in ("fsync", "synchronous_commit", "full_page_writes")
        }
    assert shown == {"fsync": ("on",), "synchronous_commit": ("on",), "full_page_writes": ("on",)}


def test_owner_is_no_superuser(empty_database: Database) -> None:
    """The role that owns a test's database neither is a superuser nor passes row-level security."""
    with psycopg.connect(empty_database.owner_url) as connection:
        row = connection.execute(
            "SELECT rolsuper, rolbypassrls, rolcreaterole FROM pg_roles WHERE rolname = current_user"
        ).fetchone()
    assert row == (False, False, True)


def test_url_names_another_database_on_the_same_server() -> None:
    """Only role, password and database of the URL change; where the server listens stays."""
    url = "postgresql://postgres:first@/postgres?host=%2Ftmp%2Frl-1&port=5432"
    assert url_for(url, "clone", "owner", "second") == "postgresql://owner:second@/clone?host=%2Ftmp%2Frl-1&port=5432"
    assert url_for("postgresql://a:b@127.0.0.1:5433/x", "y", "c", "d") == "postgresql://c:d@127.0.0.1:5433/y"


async def test_clone_is_served_as_the_app_role(connection: psycopg.AsyncConnection) -> None:
    """The connection of a test belongs to the app role, which owns nothing."""
    cursor = await connection.execute(
        "SELECT count(*) FROM pg_class JOIN pg_roles r ON r.oid = relowner AND rolname = current_user"
    )
    assert await cursor.fetchone() == (0,)
    assert connection.info.user.endswith("_app")
