"""Two of the same at once: processes that serve one database, and commands that migrate it."""

import asyncio
import os
import subprocess
import sys
from pathlib import Path

import psycopg
from alembic.command import upgrade

from service.migrating import configuration, let_in
from service.store.connecting import connect
from service.store.scope import set_organisation
from tests.bench.firm import checks, made_firm, settle_in
from tests.databases.clone import PASSWORD, Database
from tests.faults.senders import Journal, Sender
from tests.faults.service import ROOT, serving
from tests.faults.test_crashes import LOGGED, SEQS
from tests.http.doors import OURS

WAITING = "SELECT count(*) FROM pg_stat_activity WHERE datname = current_database() AND wait_event = 'advisory'"
UNITS = 6
EVENTS = 300


async def test_two_processes_on_one_database_record_each_event_once(database: Database, tmp_path: Path) -> None:
    """Each of two services is sent the same events about the same units at once: both tell of one place in one log."""
    environment = {"DATABASE_URL": database.app_url, "RESPIRATORS_REQUESTS_A_MINUTE": "0"}
    journal = Journal()
    with serving(tmp_path / "one.log", environment) as one, serving(tmp_path / "two.log", environment) as two:
        key = await made_firm(database.owner_url)
        await settle_in(one.port, key, UNITS)
        said = list(checks(UNITS, EVENTS, seed=5))
        every = {service.port: iter(said) for service in (one, two)}
        async with asyncio.TaskGroup() as group:
            for port, bodies in every.items():
                for _ in range(16):
                    group.create_task(Sender(port, key, journal).send(bodies))
        told = {ident: answer.seq for ident, answer in journal.acknowledged.items()}
        errors = [*one.errors(), *two.errors()]
    async with await connect(database.owner_url) as owner, owner.transaction():
        await set_organisation(owner, OURS)
        logged: dict[str, int] = dict(await (await owner.execute(LOGGED)).fetchall())
        seqs = [row[0] for row in await (await owner.execute(SEQS)).fetchall()]
    assert len(told) == EVENTS
    assert told == logged
    assert seqs == list(range(1, len(seqs) + 1))
    assert set(journal.statuses) <= {200, 201, 503}
    assert journal.statuses[200] >= EVENTS - 16
    assert errors == []


def test_migrating_twice_at_once_makes_one_schema(empty_database: Database) -> None:
    """Of two commands that migrate an empty database at once both end well, and what they made serves."""
    migrated_twice(empty_database)
    with psycopg.connect(empty_database.app_url) as conn:
        assert conn.execute("SELECT count(*) FROM ledger.event").fetchone() == (0,)


def test_the_serving_role_gets_its_password_in_the_same_turn(empty_database: Database) -> None:
    """Whoever migrates keeps others waiting until the serving role has its password, too: both end well."""
    others = []

    def meanwhile(conn: psycopg.Connection) -> None:
        let_in(conn, PASSWORD)
        others.append(migrating(empty_database))
        with psycopg.connect(empty_database.owner_url, autocommit=True) as watcher:
            while others[0].poll() is None and watcher.execute(WAITING).fetchone() == (0,):
                pass

    config = configuration(empty_database.owner_url, PASSWORD)
    config.attributes["last"] = meanwhile
    upgrade(config, "head")
    told = others[0].communicate()[0].decode()
    assert others[0].returncode == 0, told
    with psycopg.connect(empty_database.app_url) as conn:
        assert conn.execute("SELECT count(*) FROM ledger.event").fetchone() == (0,)


def test_a_password_is_set_by_the_migrations_themselves() -> None:
    """What is done last is to set the password that was given, and nothing without one."""
    last = configuration("postgresql:///any", PASSWORD).attributes["last"]
    assert (last.func, last.keywords) == (let_in, {"password": PASSWORD})
    assert configuration("postgresql:///any").attributes["last"] is None


async def test_migrating_twice_at_once_leaves_a_log_and_its_service_alone(database: Database, tmp_path: Path) -> None:
    """While events are posted two commands migrate: both end well, and each event is answered and in the log once."""
    environment = {"DATABASE_URL": database.app_url, "RESPIRATORS_REQUESTS_A_MINUTE": "0"}
    journal = Journal()
    with serving(tmp_path / "service.log", environment) as service:
        key = await made_firm(database.owner_url)
        await settle_in(service.port, key, UNITS)
        said = iter(list(checks(UNITS, EVENTS, seed=6)))
        async with asyncio.TaskGroup() as group:
            for _ in range(8):
                group.create_task(Sender(service.port, key, journal).send(said))
            group.create_task(asyncio.to_thread(migrated_twice, database))
        errors = service.errors()
    async with await connect(database.owner_url) as owner, owner.transaction():
        await set_organisation(owner, OURS)
        logged: dict[str, int] = dict(await (await owner.execute(LOGGED)).fetchall())
    assert {ident: answer.seq for ident, answer in journal.acknowledged.items()} == logged
    assert len(logged) == EVENTS
    assert errors == []


def migrated_twice(database: Database) -> None:
    """Run two commands that migrate a database at once. Raises AssertionError where one of them fails."""
    running = [migrating(database) for _ in range(2)]
    told = [one.communicate()[0].decode() for one in running]
    assert [one.returncode for one in running] == [0, 0], told


def migrating(database: Database) -> subprocess.Popen[bytes]:
    """Begin a command that migrates a database."""
    environment = {"MIGRATION_DATABASE_URL": database.owner_url, "DATABASE_URL": database.app_url}
    return subprocess.Popen(
        [sys.executable, "-m", "service", "migrate"],
        cwd=ROOT,
        env={**os.environ, **environment},
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
    )
