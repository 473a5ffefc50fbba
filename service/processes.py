"""Tell one process from another, also after its number has been given to a new one, and hold a folder alone."""

import os
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

BOOT = Path("/proc/sys/kernel/random/boot_id")


def birth(pid: int) -> str | None:
    """Give what marks a living process for good, unlike its number, which is used again; None when there is none."""
    if BOOT.exists():
        return _birth_from_proc(pid)
    if sys.platform == "win32":
        return _birth_on_windows(pid)
    told = subprocess.run(
        ["/bin/ps", "-o", "stat=,lstart=", "-p", str(pid)], capture_output=True, text=True, check=False
    )
    state, _, started = told.stdout.strip().partition(" ")
    return None if told.returncode or state.startswith("Z") else started.strip()


def _birth_from_proc(pid: int) -> str | None:
    """Read boot and start tick from Linux's /proc; a process that ended but was not yet waited for is none."""
    try:
        # proc_pid_stat(5): the name stands in parentheses and may hold anything; state is field 3, starttime field 22
        fields = Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()
    except (FileNotFoundError, ProcessLookupError):
        return None
    return None if fields[0] in "ZX" else f"{BOOT.read_text().strip()}:{fields[19]}"


def _birth_on_windows(pid: int) -> str | None:
    """Ask PowerShell, which every Windows has, for the start time."""
    question = f"(Get-Process -Id {pid:d} -ErrorAction SilentlyContinue).StartTime.ToFileTimeUtc()"
    command = ["powershell", "-NoProfile", "-Command", question]  # found in the system's own search order
    told = subprocess.run(command, capture_output=True, text=True, check=False)
    return told.stdout.strip() or None


def works_in(folder: Path) -> bool | None:
    """Say whether any process has the folder as its working directory; None where the system does not tell."""
    if not BOOT.exists():
        return None
    target = folder.resolve()
    for entry in Path("/proc").iterdir():
        try:
            if entry.name.isdigit() and (entry / "cwd").readlink() == target:
                return True
        except OSError:  # ended meanwhile, or another user's, who cannot have opened our folder
            continue
    return False


class Held(Exception):
    """Another living process holds the lock."""


@contextmanager
def hold(lock: Path) -> Iterator[None]:
    """Hold the lock file alone until the block ends; the system lets go of it however the process dies.

    Raises Held at once when another process has it.
    """
    handle = os.open(lock, os.O_RDWR | os.O_CREAT, 0o600)
    try:
        _lock(handle)
        yield
    finally:
        os.close(handle)


def _lock(handle: int) -> None:
    """Take the system's advisory lock without waiting."""
    try:
        if sys.platform == "win32":
            import msvcrt  # noqa: PLC0415 - exists on Windows alone

            msvcrt.locking(handle, msvcrt.LK_NBLCK, 1)
        else:
            import fcntl  # noqa: PLC0415 - does not exist on Windows

            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError as failure:
        raise Held from failure
