import importlib
import pkgutil
import re
from collections.abc import Iterator
from hashlib import sha256
from pathlib import Path

import psycopg
import pytest
from alembic.script import ScriptDirectory
from psycopg.pq import ExecStatus

import service.store
from service.migrating import MIGRATIONS, app_role, configuration, migrate
from service.store.dump_derived import DUMPS
from service.store.tables import DERIVED, LOG, PRIMARY, REVISION
from tests.databases.clone import PASSWORD, Database

VERB = re.compile(r"\s*(SELECT|INSERT|UPDATE|DELETE|WITH|BEGIN)\b")
NAME = re.compile(r"%\((\w+)\)s")
BOOKKEEPING = {"alembic_version"}


def texts() -> Iterator[tuple[str, str]]:
    """Give every SQL text of the store under its module and name."""
    for module in pkgutil.iter_modules(service.store.__path__):
        loaded = importlib.import_module(f"service.store.{module.name}")
        for name, value in vars(loaded).items():
            if name.isupper() and isinstance(value, str) and VERB.match(value):
                yield f"{module.name}.{name}", value


def asked(conn: psycopg.Connection, query: str) -> set[str]:
    """Ask for one column of names."""
    return {row[0] for row in conn.execute(query.encode()).fetchall()}


@pytest.mark.parametrize(("name", "query"), sorted(texts()))
def test_text_prepares_against_the_schema(owner: psycopg.Connection, name: str, query: str) -> None:
    """Every SQL text of the store is one statement that the migrated schema understands."""
    names = list(dict.fromkeys(NAME.findall(query)))
    numbered = NAME.sub(lambda found: f"${names.index(found[1]) + 1}", query).replace("%%", "%")
    prepared = owner.pgconn.prepare(name.encode(), numbered.encode())
    assert prepared.status == ExecStatus.COMMAND_OK, prepared.error_message.decode()


@pytest.fixture(scope="module")
def owner(shared: Database) -> Iterator[psycopg.Connection]:
    """Give a connection of the owner."""
    with psycopg.connect(shared.owner_url, autocommit=True) as conn:
        yield conn


def test_store_has_texts() -> None:
    """The catalogue finds what it checks: an append, a feed and what verification reads."""
    names = {name for name, _ in texts()}
    assert {"append.APPEND", "feed.FEED", "log_rows.LOG_ROWS", "sealed_texts.SEALED_TEXTS"} <= names
    assert len(names) > 50


def test_every_table_has_one_class(owner: psycopg.Connection) -> None:
    """Every table is log, primary or derived, and every class names tables that exist."""
    classed = [*LOG, *PRIMARY, *DERIVED]
    assert len(set(classed)) == len(classed)
    assert asked(owner, "SELECT tablename FROM pg_tables WHERE schemaname = 'ledger'") == {*classed, *BOOKKEEPING}


def test_every_table_of_an_organisation_is_secured(owner: psycopg.Connection) -> None:
    """A table with an organisation has row security, forced on its owner too, by the transaction's organisation."""
    unsecured = """
    SELECT c.relname FROM pg_class c JOIN pg_attribute a ON a.attrelid = c.oid AND a.attname = 'organisation'
    WHERE c.relnamespace = 'ledger'::regnamespace AND c.relkind = 'r' AND NOT (
        c.relrowsecurity AND c.relforcerowsecurity AND EXISTS (
            SELECT FROM pg_policies p WHERE p.schemaname = 'ledger' AND p.tablename = c.relname
                AND p.policyname = 'own_organisation' AND p.cmd = 'ALL' AND p.qual LIKE '%ledger.organisation%'))
    """
    assert asked(owner, unsecured) == set()
    with_organisation = """
    SELECT c.relname FROM pg_class c JOIN pg_attribute a ON a.attrelid = c.oid AND a.attname = 'organisation'
    WHERE c.relnamespace = 'ledger'::regnamespace AND c.relkind = 'r'
    """
    assert asked(owner, with_organisation) == {*LOG, *PRIMARY, *DERIVED}


def test_every_policy_but_three_is_for_all_roles(owner: psycopg.Connection) -> None:
    """Only listing organisations, and finding a key or webhooks to serve, look across organisations, as the owner."""
    exceptions = "SELECT tablename || '.' || policyname FROM pg_policies WHERE policyname <> 'own_organisation'"
    assert asked(owner, exceptions) == {
        "organisation.owner_lists",
        "api_key.owner_authenticates",
        "webhook.owner_serves",
    }
    roles = "SELECT DISTINCT roles::text FROM pg_policies WHERE policyname LIKE 'owner_%'"
    [only] = asked(owner, roles)
    assert only == f"{{{owner.info.user}}}"


def test_every_derived_table_is_dumped() -> None:
    """What a rebuild must equal is every derived table, in the order they are declared."""
    assert tuple(DUMPS) == DERIVED


def test_log_triggers_fire_always(owner: psycopg.Connection) -> None:
    """The triggers of the log fire in every mode, and there are no others."""
    triggers = "SELECT tgname || ' ' || tgenabled::text FROM pg_trigger WHERE NOT tgisinternal"
    assert asked(owner, triggers) == {
        "event_rows_never_change A",
        "event_never_changes A",
        "head_never_goes_back A",
        "head_stays A",
    }


def test_names_are_ordered_by_bytes(owner: psycopg.Connection) -> None:
    """No column that is a key or sorted depends on a collation of the server."""
    collated = """
    SELECT c.relname || '.' || a.attname
    FROM pg_index i JOIN pg_class c ON c.oid = i.indrelid JOIN pg_attribute a ON a.attrelid = c.oid
        AND a.attnum = ANY (i.indkey)
    WHERE c.relnamespace = 'ledger'::regnamespace AND c.relname <> 'alembic_version'
        AND a.attcollation NOT IN (0, 'pg_catalog."C"'::regcollation) AND a.atttypid = 'text'::regtype
    """
    assert asked(owner, collated) == set()


def test_revision_is_the_newest() -> None:
    """The revision this code needs is the head of the migrations, of which there is one."""
    scripts = ScriptDirectory.from_config(configuration("postgresql://nowhere"))
    assert scripts.get_heads() == [REVISION]


def test_the_first_revision_is_named_for_what_it_makes() -> None:
    """Whoever changes a part names the revision anew; once it has made a database that is kept, no part is changed."""
    text = "".join(part.read_text("utf-8") for part in sorted((MIGRATIONS / "first").glob("*.sql")))
    first = ScriptDirectory.from_config(configuration("postgresql://nowhere")).get_bases()
    assert first == [f"ledger_{sha256(text.encode()).hexdigest()[:8]}"]


def test_migrating_again_changes_nothing(empty_database: Database) -> None:
    """Migrating a migrated database leaves schema and grants as they are, and the role its login."""
    migrate(empty_database.owner_url, PASSWORD)
    first = described(empty_database)
    migrate(empty_database.owner_url)
    assert described(empty_database) == first
    with psycopg.connect(empty_database.app_url) as conn:
        assert conn.info.user == app_role(empty_database.name)
        assert asked(conn, "SELECT version_num FROM ledger.alembic_version") == {REVISION}


def described(database: Database) -> set[tuple[object, ...]]:
    """Describe relations, functions and types of the schema with all their rights."""
    query = """
    SELECT 'relation', relname, relkind::text, relacl::text, relrowsecurity FROM pg_class
    WHERE relnamespace = 'ledger'::regnamespace
    UNION ALL
    SELECT 'function', proname, pg_get_functiondef(oid), proacl::text, prosecdef FROM pg_proc
    WHERE pronamespace = 'ledger'::regnamespace
    """
    with psycopg.connect(database.owner_url) as conn:
        found = set(conn.execute(query).fetchall())
    assert len(found) > 60
    return found


def test_migrations_name_no_sql_file_that_is_missing() -> None:
    """The first revision is made of parts that are read in the order of their numbers."""
    parts = sorted(part.name for part in (Path(__file__).parents[2] / "migrations" / "first").glob("*.sql"))
    assert [part[:2] for part in parts] == [f"{number:02d}" for number in range(1, len(parts) + 1)]
