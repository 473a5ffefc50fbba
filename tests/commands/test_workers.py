import os
import signal
import time
from collections.abc import Callable

import httpx
import psutil

from service.processes import birth
from tests.commands.test_serve import serving
from tests.databases.clone import Database

PATIENCE = 60.0


def children(pid: int) -> list[int]:
    """Give the processes that a process has started and that still run."""
    return [child.pid for child in psutil.Process(pid).children() if lives(child)]


def lives(child: psutil.Process) -> bool:
    """Say whether a process is at work: one may have gone since it was listed."""
    try:
        return bool(child.status() != psutil.STATUS_ZOMBIE)
    except psutil.NoSuchProcess:
        return False


def until(found: Callable[[], list[int]]) -> list[int]:
    """Look again until something is found."""
    deadline = time.monotonic() + PATIENCE
    while not (what := found()):
        assert time.monotonic() < deadline
        time.sleep(0.05)
    return what


def test_further_processes_answer_and_end_with_the_first(database: Database) -> None:
    """While the first process stands still, another answers on the same port; asked to end, both do."""
    with serving(DATABASE_URL=database.app_url, RESPIRATORS_WORKERS="2") as (process, address):
        (child,) = until(lambda: children(process.pid))
        os.kill(process.pid, signal.SIGSTOP)
        try:
            assert httpx.get(f"{address}/health/ready", timeout=PATIENCE).status_code == 200
        finally:
            os.kill(process.pid, signal.SIGCONT)
        process.send_signal(signal.SIGTERM)
        assert process.wait(timeout=PATIENCE) == 0
        assert birth(child) is None


def test_process_that_ends_is_started_again(database: Database) -> None:
    """A further process that was killed has a successor; that of a killed first process ends by itself."""
    with serving(DATABASE_URL=database.app_url, RESPIRATORS_WORKERS="2") as (process, _):
        (child,) = until(lambda: children(process.pid))
        os.kill(child, signal.SIGKILL)
        (successor,) = until(lambda: [pid for pid in children(process.pid) if pid != child])
        process.kill()
        process.wait(timeout=PATIENCE)
        assert until(lambda: [successor] if birth(successor) is None else []) == [successor]
