"""Hold a file alone, so that two processes never work on one folder. Standard library alone."""

import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path


class Held(Exception):
    """Another living process holds the lock."""


@contextmanager
def hold(lock: Path) -> Iterator[None]:
    """Hold the file alone until the block ends; the system lets go of it however the process dies.

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
