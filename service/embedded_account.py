"""As root: the account PostgreSQL runs as, and whether it can enter a folder. PostgreSQL refuses to run as root."""

import os
import subprocess
import sys
from pathlib import Path
from typing import NamedTuple, TypedDict

from service.embedded_failures import NoAccount

ACCOUNTS = ("postgres", "nobody")
"""Accounts without rights that exist on most systems, the most fitting first."""


class RunAs(TypedDict, total=False):
    """Arguments of `subprocess.Popen` that change the user."""

    user: int
    group: int
    extra_groups: list[int]


class Account(NamedTuple):
    """A system account by its numbers."""

    uid: int
    gid: int


def unprivileged() -> Account | None:
    """Find the account to run PostgreSQL as; None when this process is no root and runs it itself."""
    if sys.platform == "win32" or os.geteuid() != 0:
        return None
    import pwd  # noqa: PLC0415 - does not exist on Windows

    for name in ACCOUNTS:
        try:
            entry = pwd.getpwnam(name)
        except KeyError:
            continue
        return Account(entry.pw_uid, entry.pw_gid)
    raise NoAccount(ACCOUNTS)


def run_as(account: Account | None) -> RunAs:
    """Give the arguments that start a child as the account."""
    return RunAs() if account is None else RunAs(user=account.uid, group=account.gid, extra_groups=[])


def give(path: Path, account: Account | None) -> None:
    """Hand over a file or folder that this program has just made."""
    if account is not None and sys.platform != "win32":
        os.chown(path, account.uid, account.gid)


def can_enter(folder: Path, account: Account | None) -> bool:
    """Try whether the account can go into the folder: every parent has to let it pass."""
    if account is None:
        return True
    trial = ["/bin/sh", "-c", 'cd -- "$0"', str(folder)]
    return subprocess.run(trial, check=False, capture_output=True, cwd="/", **run_as(account)).returncode == 0
