import os
import re
import signal
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

import httpx
import psycopg
import pytest

from service.bootstrap import ROOT
from service.embedded import running
from service.embedded_cluster import SUPERUSER, password
from service.processes import birth

MAIN = "import sys; from service.commands import main; sys.exit(main(sys.argv[1:]))"
KEY = re.compile(r"rl_[0-9A-Za-z]{36}")
ROLES = ["site-app", "site-lead", "manager", "integrator", "auditor", "worker-representative", "administrator"]


class Up:
    """A run of `up`, read as far as the word that it serves."""

    def __init__(self, data: Path, words: str = "until Ctrl-C", demo: tuple[str, ...] = ("--no-demo",)) -> None:
        command = [sys.executable, "-c", MAIN, "up", *demo, "--port", "0", "--data", str(data)]
        environment = {name: value for name, value in os.environ.items() if "DATABASE_URL" not in name}
        self.process = subprocess.Popen(
            command, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True, cwd=ROOT,
            env={**environment, "COLUMNS": "160"}, start_new_session=True,
        )  # fmt: skip
        try:
            self.told = self._until(words)
            self.address = re.findall(r"Serving on (http://\S+)", self.told)[0]
            self.keys = {
                role: key for role in ROLES for key in re.findall(rf"(?m)^{variable(role)}=({KEY.pattern})$", self.told)
            }
        except BaseException:
            self.kill()
            raise

    def _until(self, words: str) -> str:
        """Read what the process says up to a line with the words."""
        assert self.process.stdout is not None
        told = ""
        for line in self.process.stdout:
            told += line
            if words in line:
                return told
        pytest.fail(told)

    def kill(self) -> None:
        """Kill the process, not the database."""
        self.process.kill()
        self.process.communicate()

    def ask(self, role: str) -> int:
        """Ask for the summary with the key of a role; gives the status."""
        return httpx.get(f"{self.address}/v1/compliance", headers=bearer(self.keys[role])).status_code

    def end(self, sign: signal.Signals = signal.SIGINT) -> tuple[int, str]:
        """Send the signal; gives the exit code and what was said from then on."""
        self.process.send_signal(sign)
        rest, _ = self.process.communicate(timeout=60)
        return self.process.returncode, rest

    def interrupt(self) -> tuple[int, str]:
        """Press Ctrl-C, which reaches all of a terminal; gives the exit code and what was said from then on."""
        os.killpg(self.process.pid, signal.SIGINT)
        rest, _ = self.process.communicate(timeout=60)
        return self.process.returncode, rest


def variable(role: str) -> str:
    """Name the shell's variable for the key of a role."""
    return role.upper().replace("-", "_")


def bearer(key: str) -> dict[str, str]:
    """Give the header that presents a key."""
    return {"Authorization": f"Bearer {key}"}


@pytest.fixture
def data() -> Iterator[Path]:
    """Give the place of a folder of data, in a path with a space; whatever still runs on it is killed afterwards."""
    with tempfile.TemporaryDirectory(prefix="rl test ") as parent:
        Path(parent).chmod(0o755)
        yield Path(parent) / "data"
        left = running(Path(parent) / "data")
        if left:
            os.kill(left.pid, signal.SIGKILL)


def test_second_run_serves_the_same_data_with_new_keys(data: Path) -> None:
    """The first run makes all and serves it; the second keeps the organisation and ends the keys of the first."""
    first = Up(data)
    assert sorted(first.keys) == sorted(ROLES)
    assert f"\nBASE={first.address}\n" in first.told
    assert "\nsite  profile  units  in scope  compliant" in first.told
    assert "A unit that fails a check is not used." in first.told
    assert first.ask("manager") == 200
    assert first.end() == (0, "")
    assert running(data) is None

    second = Up(data)
    assert second.ask("manager") == 200
    assert not set(first.keys.values()) & set(second.keys.values())
    old = httpx.get(f"{second.address}/v1/compliance", headers=bearer(first.keys["manager"]))
    assert old.status_code == 401
    server = running(data)
    assert server is not None
    with psycopg.connect(server.url("ledger", SUPERUSER, password(data))) as connection:
        assert connection.execute("SELECT name FROM ledger.organisation").fetchall() == [("Varrowby",)]
    assert second.end(signal.SIGTERM) == (0, "")


def test_run_after_a_kill_takes_the_database_over(data: Path) -> None:
    """The service killed, its database goes on; the next run adopts it, serves, and stops it at its own end."""
    first = Up(data)
    left = running(data)
    assert left is not None
    first.kill()
    assert birth(left.pid) == left.birth

    second = Up(data)
    assert running(data) == left
    assert second.ask("manager") == 200
    code, _ = second.end()
    assert code == 0
    assert birth(left.pid) is None


def test_ctrl_c_while_the_demo_is_posted_ends_all_of_it(data: Path) -> None:
    """The service, its other processes, the one that posts and the database end, and none of them has to explain."""
    up = Up(data, words="Posting: ", demo=())
    code, rest = up.interrupt()
    assert (code, "Traceback" in rest) == (0, False), rest
    assert running(data) is None


def test_second_run_beside_the_first_is_refused(data: Path) -> None:
    """Two runs never work on one folder, and other commands work beside a run."""
    first = Up(data)
    environment = {**os.environ, "RESPIRATORS_DATA": str(data), "COLUMNS": "200"}
    environment.pop("DATABASE_URL", None)
    environment.pop("MIGRATION_DATABASE_URL", None)
    command = [sys.executable, "-c", MAIN]
    beside = subprocess.run(
        [*command, "up", "--no-demo"], capture_output=True, text=True, check=False, cwd=ROOT, env=environment
    )
    assert (beside.returncode, beside.stderr) == (
        1,
        f"respirators: another process of this program already works on {data}\n",
    )
    listed = subprocess.run(
        [*command, "key", "list", "--organisation", "Varrowby"],
        capture_output=True, text=True, check=True, cwd=ROOT, env=environment,
    )  # fmt: skip
    assert all(role in listed.stdout for role in ROLES)
    assert first.ask("manager") == 200
    assert first.end() == (0, "")


def test_serving_process_loads_neither_migrations_nor_tests() -> None:
    """What serves has loaded nothing that migrates, tests, draws or computes in bulk."""
    code = (
        "import sys, service.serving, service.commands.serve, service.commands.up; "
        "from service.app import Wiring, create_app; from service.settings import Settings; "
        "create_app(Wiring(Settings())); print(*sys.modules)"
    )
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True, cwd=ROOT)
    loaded = {name.partition(".")[0] for name in run.stdout.split()}
    forbidden = {
        "alembic", "sqlalchemy", "mako", "pytest", "hypothesis", "testcontainers", "docker", "faker", "polyfactory",
        "scipy", "numpy", "pandas", "matplotlib", "reportlab", "seed", "tests",
    }  # fmt: skip
    assert not loaded & forbidden
