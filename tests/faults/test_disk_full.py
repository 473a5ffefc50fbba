"""A disk that is full: senders are asked to come back, nothing is lost, and it goes on once there is room."""

import asyncio
import os
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from service.embedded_server import alive
from service.store.connecting import connect
from service.store.scope import set_organisation
from tests.bench.firm import checks, made_firm, settle_in
from tests.faults.database import Postgres, migrated, packaged, room
from tests.faults.senders import Journal, Sender
from tests.faults.service import serving
from tests.faults.test_crashes import LOGGED
from tests.http.doors import OURS

MIB = 2**20
SIZE = 300 * MIB
UNITS = 20


def may_mount() -> bool:
    """Say whether this process may mount file systems."""
    if sys.platform != "linux" or os.geteuid() != 0:
        return False
    trial = ["unshare", "--mount", "mount", "-t", "tmpfs", "none", "/mnt"]
    return subprocess.run(trial, check=False, capture_output=True).returncode == 0


@contextmanager
def small_disk() -> Iterator[Path]:
    """Give a file system of its own with little room."""
    with room() as place:
        disk = place / "disk"
        disk.mkdir()
        subprocess.run(["mount", "-t", "tmpfs", "-o", f"size={SIZE}", "none", disk], check=True)  # noqa: S607 -- the same
        try:
            disk.chmod(0o711)
            yield disk
        finally:
            subprocess.run(["umount", "--lazy", disk], check=True)  # noqa: S607 -- the same


def fill(disk: Path) -> Path:
    """Fill the disk, but for what the files of the database have already."""
    ballast = disk / "ballast"
    with ballast.open("wb", buffering=0) as file:
        try:
            while True:
                file.write(bytes(MIB // 4))
        except OSError:
            return ballast


async def until_refused(journal: Journal) -> None:
    """Wait until senders were asked to come back."""
    while not journal.statuses[503]:  # noqa: ASYNC110 -- the journal tells of what was acknowledged alone
        await asyncio.sleep(0.01)


def make_room(database: Postgres, ballast: Path) -> None:
    """Make room, and start the database if that was too much for it, as its operator would."""
    ballast.unlink()
    assert database.server is not None
    if not alive(database.server):
        database.start()


@pytest.mark.skipif(not may_mount(), reason="needs the right to mount a small file system")
async def test_a_full_disk_loses_nothing_and_is_told_to_come_back(tmp_path: Path) -> None:
    """While the disk is full nothing is acknowledged; with room again all that was sent is recorded, once."""
    journal = Journal()
    with small_disk() as disk, packaged(disk / "data") as database, migrated(database) as made:
        environment = {"DATABASE_URL": made.app_url, "RESPIRATORS_REQUESTS_A_MINUTE": "0"}
        with serving(tmp_path / "service.log", environment) as service:
            key = await made_firm(made.owner_url)
            await settle_in(service.port, key, UNITS)
            ballast = fill(disk)
            bodies = checks(UNITS, 40_000, seed=3)
            full = asyncio.Event()

            def until_full() -> Iterator[bytes]:
                while not full.is_set():
                    yield next(bodies)

            every = until_full()
            senders = [asyncio.create_task(Sender(service.port, key, journal).send(every)) for _ in range(16)]
            async with asyncio.timeout(120):
                await until_refused(journal)
                full.set()
                await asyncio.to_thread(make_room, database, ballast)
                await asyncio.gather(*senders)
        async with await connect(made.owner_url) as owner, owner.transaction():
            await set_organisation(owner, OURS)
            logged: dict[str, int] = dict(await (await owner.execute(LOGGED)).fetchall())
    assert {ident: told.seq for ident, told in journal.acknowledged.items()} == logged
    assert set(journal.statuses) <= {200, 201, 503}
    assert service.errors() == []
