"""Make the folder PostgreSQL keeps its data in, or find the one made before."""

import os
import secrets
import shutil
import subprocess
import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

from service.embedded_account import Account, can_enter, give, run_as
from service.embedded_binaries import MAJOR, ROOT_HOME, SUFFIX, binaries, make_root_home
from service.embedded_failures import NotStarted, StrangeVersion

SUPERUSER = "postgres"
Say = Callable[[str], None]


def make_room(data: Path, account: Account | None) -> None:
    """Make the folder of data when it is not there; as root the account must be able to pass through it."""
    if not data.exists():
        data.mkdir(parents=True)
        data.chmod(0o700 if account is None else 0o711)


def cluster(data: Path, account: Account | None, *, say: Say, sync: bool) -> Path:
    """Give the folder of PostgreSQL's own data, made if need be.

    `sync` False skips the fsync of the empty cluster's files, nothing later. Raises StrangeVersion and NotStarted.
    """
    elsewhere = data / "elsewhere"
    made = Path(elsewhere.read_text(encoding="utf-8")) if elsewhere.exists() else data / "postgres"
    if made.exists():
        found = (made / "PG_VERSION").read_text(encoding="ascii").strip()
        if found != MAJOR:
            raise StrangeVersion(made, found, MAJOR)
        return made
    if not can_enter(data, account):
        made = _outside() / "postgres"
        say(f"The account PostgreSQL runs as cannot enter {data}; its data goes to {made}.")
        elsewhere.write_text(str(made), encoding="utf-8")
    say(f"Making an empty PostgreSQL {MAJOR} cluster.")
    _initdb(data, made, account, sync=sync)
    return made


def password(data: Path) -> str:
    """Give the superuser's password."""
    return (data / "password").read_text(encoding="ascii")


def private(path: Path, flags: int) -> int:
    """Open a file for writing that only its owner may read; gives the descriptor."""
    return os.open(path, os.O_WRONLY | os.O_CREAT | flags, 0o600)


def environment() -> dict[str, str]:
    """Give this program's environment without what would change how PostgreSQL works or speaks."""
    return {name: value for name, value in os.environ.items() if not name.startswith(("PG", "LC_", "LANG"))}


def _outside() -> Path:
    """Make a new folder where the account can reach it."""
    make_root_home()
    room = Path(tempfile.mkdtemp(dir=ROOT_HOME, prefix="data-"))
    room.chmod(0o711)
    return room


def _initdb(data: Path, made: Path, account: Account | None, *, sync: bool) -> None:
    """Make the cluster beside its place and move it there whole, so that a killed start leaves nothing half-made."""
    half = made.with_name("postgres.half-made")
    shutil.rmtree(half, ignore_errors=True)
    half.mkdir(mode=0o700)
    give(half, account)
    secret = secrets.token_urlsafe(24)
    with os.fdopen(private(data / "password", os.O_TRUNC), "w", encoding="ascii") as file:
        file.write(secret)
    with _lent(secret, account) as pwfile:
        run = subprocess.run(
            [
                str(binaries(account) / f"initdb{SUFFIX}"),
                f"--pgdata={half}",
                f"--username={SUPERUSER}",
                f"--pwfile={pwfile}",
                "--auth=scram-sha-256",
                "--encoding=UTF8",
                "--locale=C",
                "--locale-provider=builtin",
                "--builtin-locale=C.UTF-8",
                *([] if sync else ["--no-sync"]),
            ],
            check=False,
            capture_output=True,
            text=True,
            cwd="/",
            env=environment(),
            **run_as(account),
        )
    if run.returncode:
        raise NotStarted("initdb", run.stdout + run.stderr)
    half.rename(made)


@contextmanager
def _lent(secret: str, account: Account | None) -> Iterator[Path]:
    """Lend the account a file with the password that nobody else can read."""
    with tempfile.TemporaryDirectory(prefix="rl-") as folder:
        file = Path(folder) / "password"
        with os.fdopen(private(file, os.O_EXCL), "w", encoding="ascii") as handle:
            handle.write(secret)
        give(file, account)
        give(Path(folder), account)
        yield file
