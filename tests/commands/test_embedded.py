import os
import shutil
import signal
import stat
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path

import msgspec
import psycopg
import pytest

from service import embedded, embedded_account, embedded_binaries, embedded_server, lock, processes
from service.bootstrap import ROOT
from service.embedded import postgres, running
from service.embedded_account import Account, unprivileged
from service.embedded_cluster import SUPERUSER, password
from service.embedded_failures import Busy, Foreign, NoAccount, NoBinaries, NotStarted, StrangeVersion
from service.embedded_server import Server

KILLED = """
import os, signal, sys
from pathlib import Path
from service.embedded import postgres
with postgres(Path(sys.argv[1]), sync=False) as server:
    print(server.pid, flush=True)
    os.kill(os.getpid(), signal.SIGKILL)
"""

HOLDER = """
import sys
from pathlib import Path
from service.lock import hold
with hold(Path(sys.argv[1])):
    print("held", flush=True)
    sys.stdin.read()
"""


@pytest.fixture
def new_data() -> Iterator[Path]:
    """Give the place of a folder of data that is not there yet; its path has a space, every account may pass to it."""
    with tempfile.TemporaryDirectory(prefix="rl test ") as parent:
        Path(parent).chmod(0o755)
        yield Path(parent) / "some data"


@pytest.fixture(scope="module")
def made() -> Iterator[Path]:
    """Make a folder of data once, to be copied."""
    with tempfile.TemporaryDirectory(prefix="rl test ") as parent:
        Path(parent).chmod(0o755)
        with postgres(Path(parent) / "made", sync=False):
            pass
        yield Path(parent) / "made"


@pytest.fixture
def data(made: Path, new_data: Path) -> Path:
    """Give a folder of data of the test's own."""
    subprocess.run(["cp", "-a", "--", str(made), str(new_data)], check=True)  # noqa: S607 - found in the search path
    return new_data


def connect(server: Server, data: Path) -> psycopg.Connection:
    """Connect as the superuser."""
    return psycopg.connect(server.url("postgres", SUPERUSER, password(data)))


def orphan(data: Path) -> int:
    """Start the server from a process that is then killed; gives the number of the server left behind."""
    run = subprocess.run(
        [sys.executable, "-c", KILLED, str(data)], capture_output=True, text=True, check=False, cwd=ROOT
    )
    assert run.returncode == -signal.SIGKILL, run.stderr
    return int(run.stdout)


def test_server_keeps_its_data_and_stops_at_the_end(data: Path) -> None:
    """What was committed in one run is there in the next, and between them no process and no socket is left."""
    with postgres(data, sync=False) as first, connect(first, data) as connection:
        connection.execute("CREATE TABLE kept AS SELECT 42 AS number")
    assert processes.birth(first.pid) is None
    assert not Path(first.host).exists()
    with postgres(data) as second, connect(second, data) as connection:
        assert connection.execute("SELECT number FROM kept").fetchone() == (42,)


def test_server_is_as_promised(data: Path) -> None:
    """It is durable, speaks UTF-8 in C order, listens on no network and lets nobody in without a password."""
    with postgres(data, sync=False) as server:
        with connect(server, data) as connection:
            shown = {
                name: connection.execute("SELECT current_setting(%s)", (name,)).fetchone()
                for name in ("fsync", "synchronous_commit", "full_page_writes", "server_encoding", "listen_addresses")
            }
            collation = connection.execute(
                "SELECT datlocprovider, datlocale FROM pg_database WHERE datname = 'postgres'"
            ).fetchone()
        with pytest.raises(psycopg.OperationalError, match="password authentication failed"):
            psycopg.connect(server.url("postgres", SUPERUSER, "wrong"))
        socket_mode = stat.S_IMODE(Path(server.host).stat().st_mode)
    assert shown == {
        "fsync": ("on",),
        "synchronous_commit": ("on",),
        "full_page_writes": ("on",),
        "server_encoding": ("UTF8",),
        "listen_addresses": ("",),
    }
    assert collation == ("b", "C.UTF-8")
    assert socket_mode == 0o700
    assert stat.S_IMODE((data / "password").stat().st_mode) == 0o600
    assert stat.S_IMODE((data / "postgres.log").stat().st_mode) == 0o600


def test_orphan_is_taken_over(data: Path) -> None:
    """After its owner is killed the same server goes on working for the next run, which also stops it."""
    pid = orphan(data)
    with postgres(data) as server, connect(server, data) as connection:
        assert server.pid == pid
        assert connection.execute("SELECT 1").fetchone() == (1,)
    assert processes.birth(pid) is None


def test_killed_server_recovers(data: Path) -> None:
    """After server and owner are killed, the next run finds everything that was committed."""
    with postgres(data, sync=False) as server, connect(server, data) as connection:
        connection.execute("CREATE TABLE kept AS SELECT 42 AS number")
        connection.commit()
        os.kill(server.pid, signal.SIGKILL)
    with postgres(data) as server, connect(server, data) as connection:
        assert connection.execute("SELECT number FROM kept").fetchone() == (42,)


def test_folder_has_one_owner(data: Path) -> None:
    """While one process owns the folder, another is refused at once and can still find the server."""
    with postgres(data, sync=False) as server:
        with pytest.raises(Busy), postgres(data):
            pass
        assert running(data) == server
    assert running(data) is None


def test_strange_server_is_not_taken_over(data: Path) -> None:
    """A server on the folder whose note does not match process and start time is left alone, and the run refused."""
    pid = orphan(data)
    note = data / "server.json"
    kept = note.read_bytes()
    note.write_bytes(kept.replace(b'"birth":"', b'"birth":"another-'))
    with pytest.raises(Foreign, match=f"process {pid} serves"), postgres(data):
        pass
    assert processes.birth(pid) is not None
    note.write_bytes(kept)
    with postgres(data):
        pass


def test_number_given_to_a_stranger_does_not_stop_the_start(data: Path) -> None:
    """After a restart of the machine the noted number may be another program's: it is neither adopted nor feared."""
    with postgres(data, sync=False) as server:
        cluster = Path(server.folder)
        left = (cluster / "postmaster.pid").read_text(encoding="utf-8")
    stale = left.replace(str(server.pid), str(os.getppid()), 1)
    (cluster / "postmaster.pid").write_text(stale, encoding="utf-8")
    with postgres(data) as again, connect(again, data) as connection:
        assert connection.execute("SELECT 1").fetchone() == (1,)


def test_folder_of_another_major_version_is_refused(data: Path) -> None:
    """Data of another major version is left as it is, with a word on how to bring it over."""
    with postgres(data, sync=False) as server:
        cluster = Path(server.folder)
    (cluster / "PG_VERSION").write_text("17\n", encoding="ascii")
    with pytest.raises(StrangeVersion, match=r"was written by PostgreSQL 17.*pg_dump"), postgres(data):
        pass
    assert (cluster / "PG_VERSION").read_text(encoding="ascii") == "17\n"


def test_orphan_of_a_start_that_was_killed_early_is_taken_over(data: Path) -> None:
    """A start killed before it noted the server's birth is known by the folder of its socket."""
    pid = orphan(data)
    note = msgspec.json.decode((data / "server.json").read_bytes(), type=Server)
    early = msgspec.structs.replace(note, pid=0, birth="")
    (data / "server.json").write_bytes(msgspec.json.encode(early))
    assert running(data) is None
    with postgres(data) as server:
        assert server == note
        assert server.pid == pid


def test_server_that_does_not_start_says_why(data: Path) -> None:
    """The server's own last words are the message."""
    with (data / "postgres" / "postgresql.conf").open("a", encoding="utf-8") as settings:
        settings.write("no_such_setting = 1\n")
    with pytest.raises(NotStarted, match='unrecognized configuration parameter "no_such_setting"'), postgres(data):
        pass
    assert running(data) is None


def test_interrupted_stop_is_a_crash_and_nothing_more(data: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Ctrl-C while the server stops ends it at once; at the next start all that was committed is there."""

    def interrupted(_seconds: float) -> None:
        monkeypatch.undo()
        raise KeyboardInterrupt

    def stop_twice() -> None:
        with postgres(data) as server, connect(server, data) as connection:
            connection.execute("CREATE TABLE kept AS SELECT 42 AS number")
            connection.commit()
            monkeypatch.setattr(time, "sleep", interrupted)

    with pytest.raises(KeyboardInterrupt):
        stop_twice()
    with postgres(data) as server, connect(server, data) as connection:
        assert connection.execute("SELECT number FROM kept").fetchone() == (42,)


def test_interrupted_block_stops_the_server_at_once(data: Path) -> None:
    """Ctrl-C in the block stops the server without a checkpoint: its next start tells of a recovery."""
    with pytest.raises(KeyboardInterrupt), postgres(data):
        raise KeyboardInterrupt
    assert running(data) is None
    with postgres(data):
        assert "automatic recovery in progress" in (data / "postgres.log").read_text(encoding="utf-8")


def test_waiting_person_is_told_why(data: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Whoever waits for the server hears what it does."""
    monkeypatch.setattr(embedded_server, "SILENCE", 0.0)
    told: list[str] = []
    with postgres(data, say=told.append):
        assert set(told) == {"PostgreSQL is recovering (0 s)."}
        told.clear()
    assert set(told) == {"PostgreSQL is writing its data out (0 s)."}


def test_long_temporary_folder_does_not_stop_the_start(
    data: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Where the folder of temporary files has a name too long for a socket, the socket stands elsewhere."""
    long = tmp_path / ("long-" * 30)
    long.mkdir()
    monkeypatch.setattr(tempfile, "tempdir", str(long))
    with postgres(data) as server, connect(server, data) as connection:
        assert not server.host.startswith(str(long))
        assert connection.execute("SELECT 1").fetchone() == (1,)


def test_small_shared_memory_is_not_used(data: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where /dev/shm is small, as in a container, PostgreSQL shares memory by files of its own."""
    monkeypatch.setattr(embedded, "SMALL_SHARED_MEMORY", 2**62)
    with postgres(data) as server, connect(server, data) as connection:
        assert connection.execute("SELECT current_setting('dynamic_shared_memory_type')").fetchone() == ("mmap",)


def test_missing_binaries_are_told_with_another_way(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where the package has no binaries for the system, the two URLs are named."""
    monkeypatch.setattr(embedded_binaries, "MAJOR", "99")
    with pytest.raises(NoBinaries, match=r"no PostgreSQL 99 binaries .* set DATABASE_URL and MIGRATION_DATABASE_URL"):
        embedded_binaries.packaged()


def test_root_without_an_account_is_told_which_were_looked_for(monkeypatch: pytest.MonkeyPatch) -> None:
    """PostgreSQL does not run as root, so root needs one of the accounts named."""
    monkeypatch.setattr(os, "geteuid", lambda: 0)
    monkeypatch.setattr(embedded_account, "ACCOUNTS", ("no-such-account",))
    with pytest.raises(NoAccount, match="none of the accounts no-such-account exists"):
        unprivileged()


def test_ordinary_user_runs_postgresql_itself(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Without root no account is looked for, nothing changes hands, and every folder is taken as it is."""
    monkeypatch.setattr(os, "geteuid", lambda: 1000)
    assert unprivileged() is None
    before = tmp_path.stat()
    embedded_account.give(tmp_path, None)
    assert (tmp_path.stat().st_uid, tmp_path.stat().st_gid) == (before.st_uid, before.st_gid)
    assert embedded_account.can_enter(tmp_path / "not there", None)
    assert embedded_account.run_as(None) == {}


def test_half_made_cluster_is_made_again(new_data: Path) -> None:
    """What a killed first start left half-made is thrown away."""
    new_data.mkdir()
    new_data.chmod(0o755)
    (new_data / "postgres.half-made").mkdir()
    (new_data / "postgres.half-made" / "PG_VERSION").write_text("18\n", encoding="ascii")
    with postgres(new_data, sync=False) as server, connect(server, new_data) as connection:
        assert connection.execute("SELECT 1").fetchone() == (1,)
    assert not (new_data / "postgres.half-made").exists()


def test_copied_binaries_run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The copy that root makes outside a closed folder brings the libraries with it, and everybody may run it."""
    monkeypatch.setattr(embedded_binaries, "ROOT_HOME", tmp_path / "home")
    monkeypatch.setattr(embedded_binaries, "_runs", lambda _folder, _account: False)
    before = os.umask(0o077)
    try:
        copied = embedded_binaries.binaries(Account(os.getuid(), os.getgid()))
    finally:
        os.umask(before)
    assert copied.is_relative_to(tmp_path / "home")
    for program in ("initdb", "postgres"):
        run = subprocess.run([copied / program, "--version"], capture_output=True, text=True, check=True)
        assert run.stdout.startswith(f"{program} (PostgreSQL) 18.")
    embedded_binaries._copy(embedded_binaries.packaged().parents[1], next((tmp_path / "home").iterdir()))
    for path in (tmp_path / "home").rglob("*"):
        wanted = 0o555 if path.is_dir() or path.parent == copied else 0o444
        assert path.stat().st_mode & wanted == wanted, path


@pytest.mark.skipif(unprivileged() is None, reason="only root runs PostgreSQL as another account")
def test_as_root_only_the_cluster_changes_hands(new_data: Path) -> None:
    """As root the server's own folder belongs to the account it runs as, and nothing that was there before changes."""
    before = new_data.parent.stat()
    account = unprivileged()
    with postgres(new_data, sync=False) as server:
        owner = Path(server.folder).stat()
        assert account is not None
        assert (owner.st_uid, stat.S_IMODE(owner.st_mode)) == (account.uid, 0o700)
    after = new_data.parent.stat()
    assert (after.st_mode, after.st_uid, after.st_gid) == (before.st_mode, before.st_uid, before.st_gid)
    assert new_data.stat().st_uid == 0


@pytest.mark.skipif(unprivileged() is None, reason="only root runs PostgreSQL as another account")
def test_as_root_a_closed_folder_is_left_closed(new_data: Path) -> None:
    """Where the account cannot pass, PostgreSQL's data goes elsewhere, the folder says where, and stays closed."""
    new_data.parent.chmod(0o700)
    with postgres(new_data, sync=False) as server:
        elsewhere = Path(server.folder)
    try:
        assert Path((new_data / "elsewhere").read_text(encoding="utf-8")) == elsewhere
        assert not elsewhere.is_relative_to(new_data)
        assert stat.S_IMODE(new_data.parent.stat().st_mode) == 0o700
        with postgres(new_data) as again:
            assert again.folder == str(elsewhere)
    finally:
        subprocess.run(["rm", "-rf", "--", str(elsewhere.parent)], check=True)  # noqa: S607 - found in the search path


def test_lock_is_let_go_when_its_holder_dies(tmp_path: Path) -> None:
    """A lock file is held by the living alone."""
    with subprocess.Popen(
        [sys.executable, "-c", HOLDER, str(tmp_path / "lock")], stdin=subprocess.PIPE, stdout=subprocess.PIPE, cwd=ROOT
    ) as child:
        assert child.stdout is not None
        assert child.stdout.readline() == b"held\n"
        with pytest.raises(lock.Held), lock.hold(tmp_path / "lock"):
            pass
        child.kill()
        child.wait()
        with lock.hold(tmp_path / "lock"):
            pass


def test_birth_tells_processes_apart() -> None:
    """Every living process has a birth of its own that stays the same, and one that ended has none."""
    with subprocess.Popen([sys.executable, "-c", "input()"], stdin=subprocess.PIPE) as child:
        born = processes.birth(child.pid)
        assert born is not None
        assert processes.birth(child.pid) == born
        assert processes.birth(os.getpid()) != born
        child.communicate(b"\n")
    assert processes.birth(child.pid) is None


def test_interrupted_start_leaves_no_server(data: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Ctrl-C while the server starts ends it; the next start finds nothing in its way."""

    def interrupted(_seconds: float) -> None:
        monkeypatch.undo()
        raise KeyboardInterrupt

    monkeypatch.setattr(time, "sleep", interrupted)
    with pytest.raises(KeyboardInterrupt), postgres(data):
        pass
    assert running(data) is None
    with postgres(data) as server, connect(server, data) as connection:
        assert connection.execute("SELECT 1").fetchone() == (1,)


@pytest.mark.skipif(unprivileged() is None, reason="only root runs PostgreSQL as another account")
def test_as_root_binaries_in_a_closed_folder_cannot_be_run(tmp_path: Path) -> None:
    """Where the account cannot reach the package's own binaries, that is found out before they are needed."""
    closed = tmp_path / "closed"
    shutil.copytree(embedded_binaries.packaged(), closed / "bin")
    closed.chmod(0o700)
    account = unprivileged()
    assert account is not None
    assert not embedded_binaries._runs(closed / "bin", account)
