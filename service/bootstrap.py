"""Make the project's own environment, `.venv`, and go on inside it. Standard library alone.

pip comes with the project (deploy/, its hash below): a system may have none, or one too old, or one that refuses an
externally managed Python. It installs what the lock names, by hash, wheels alone; `python -m venv --without-pip` works
where ensurepip is missing. The program is started with `-m`, never by a console script: the first line of a script
breaks at a space in the folder's path.
"""

import hashlib
import importlib.util
import json
import os
import shutil
import subprocess
import sys
import venv
from pathlib import Path
from typing import NoReturn

from service.lock import Held, hold

ROOT = Path(__file__).resolve().parent.parent
ENVIRONMENT = ROOT / ".venv"
STAMP = ENVIRONMENT / "respirator-ledger.json"
"""Marks the environment as made here, and says from which Python and which locks."""
PIP = ROOT / "deploy" / "pip-26.3-py3-none-any.whl"
PIP_SHA256 = "f3b60b20ffaadd4415ed7957212a38ac63fa4c5fa375bd0f4a797777940fad13"
LOCKS = {"serve": ROOT / "deploy" / "requirements.lock", "test": ROOT / "deploy" / "requirements-dev.lock"}
OWN_ENVIRONMENT = ("up", "test")
"""Commands that always run in `.venv`; the others take the current environment where that has the packages."""
NEEDED = ("alembic", "httpx", "litestar", "msgspec", "psycopg", "psycopg_pool", "structlog", "tzdata", "uvicorn")


def enter(arguments: list[str]) -> None:
    """Return inside an environment that has what the command needs, or run the command in one and end with its code."""
    command = arguments[0] if arguments else ""
    if not LOCKS["serve"].exists():
        return  # installed as a package, without the project around it
    if command not in OWN_ENVIRONMENT and all(importlib.util.find_spec(name) for name in NEEDED):
        return
    purpose = "test" if command == "test" else "serve"
    wanted = _wanted(purpose)
    if _inside() and _stamp().items() >= wanted.items():
        return
    try:
        _make(purpose, wanted)
    except Held:
        sys.exit(f"Another process is making {ENVIRONMENT}; wait for it and try again.")
    except PermissionError as refused:
        sys.exit(f"The environment cannot be made: {refused}")
    _go_on(arguments)


def _wanted(purpose: str) -> dict[str, str]:
    """Say what the environment's stamp has to hold: this Python, and the digests of the locks.

    The lock of the tests names all that the lock for serving names.
    """
    locks = LOCKS if purpose == "test" else {purpose: LOCKS[purpose]}
    python = f"{sys.version_info[0]}.{sys.version_info[1]}"
    return {"python": python, **{name: _sha256(path) for name, path in locks.items()}}


def _stamp() -> dict[str, str]:
    """Read the stamp; empty when there is none."""
    try:
        stamp = json.loads(STAMP.read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return {}
    return stamp if isinstance(stamp, dict) else {}


def _inside() -> bool:
    """Say whether this process runs in the project's own environment."""
    return ENVIRONMENT.exists() and Path(sys.prefix).resolve() == ENVIRONMENT.resolve()


def _python() -> Path:
    """Give the environment's interpreter."""
    return ENVIRONMENT / ("Scripts/python.exe" if sys.platform == "win32" else "bin/python")


def _make(purpose: str, wanted: dict[str, str]) -> None:
    """Make the environment, or add to it what the purpose needs beside what it has."""
    with hold(ROOT / ".venv.lock"):
        stamp = _stamp()
        if stamp.items() >= wanted.items() and _starts():
            return
        if not _can_grow(stamp, purpose, wanted):
            _begin(wanted["python"])
            stamp = {"python": wanted["python"]}
        _install(LOCKS[purpose])
        STAMP.write_text(json.dumps({**stamp, **wanted}), encoding="utf-8")


def _can_grow(stamp: dict[str, str], purpose: str, wanted: dict[str, str]) -> bool:
    """Say whether the purpose's packages can be added: a lock once installed must not have changed since."""
    same = all(stamp[name] == _sha256(path) for name, path in LOCKS.items() if name in stamp)
    return purpose not in stamp and same and stamp.get("python") == wanted["python"] and _starts()


def _starts() -> bool:
    """Try whether the environment's interpreter still runs: the Python it came from may be gone."""
    try:
        tried = subprocess.run([_python(), "-c", ""], check=False, capture_output=True)
    except OSError:
        return False
    return tried.returncode == 0


def _begin(python: str) -> None:
    """Make an empty environment in place of an earlier one of ours; one that others made is left alone."""
    if ENVIRONMENT.exists() and not STAMP.exists():
        sys.exit(f"{ENVIRONMENT} was not made by this program. Move it away, then try again.")
    print(f"Making the environment {ENVIRONMENT} (Python {python}).", flush=True)
    shutil.rmtree(ENVIRONMENT, ignore_errors=True)
    ENVIRONMENT.mkdir()
    STAMP.write_text("{}", encoding="utf-8")  # first of all, so that a half-made one is known as ours
    venv.EnvBuilder(with_pip=False, symlinks=sys.platform != "win32").create(ENVIRONMENT)


def _install(lock: Path) -> None:
    """Install what the lock names, with the pip that comes with the project."""
    if _sha256(PIP) != PIP_SHA256:
        sys.exit(f"{PIP} is not the file it should be: its SHA-256 differs from {PIP_SHA256}.")
    print(f"Installing the packages of {lock.name}.", flush=True)
    pip = [str(_python()), str(PIP / "pip"), "install", "--quiet", "--disable-pip-version-check", "--no-input"]
    locked = ["--no-deps", "--require-hashes", "--only-binary", ":all:", "--requirement", str(lock)]
    installed = subprocess.run([*pip, *locked], check=False, env=_environment(), cwd=ROOT)
    if installed.returncode:
        sys.exit(
            "The packages could not be installed. Wheels exist for Python 3.11 to 3.14 on Linux with glibc (x86_64, "
            "aarch64), macOS and Windows, not for musl (Alpine); beyond that pip's words above tell the reason."
        )


def _environment() -> dict[str, str]:
    """Give the environment for a child: other people's paths and pip's targets would mix into the locked packages."""
    strange = ("PYTHONHOME", "PYTHONPATH", "PIP_TARGET", "PIP_PREFIX", "PIP_ROOT", "PIP_REQUIRE_VIRTUALENV")
    kept = {name: value for name, value in os.environ.items() if name not in strange}
    return {**kept, "PIP_USER": "0", "VIRTUAL_ENV": str(ENVIRONMENT)}


def _go_on(arguments: list[str]) -> NoReturn:
    """Run the program in the environment, in place of this process where the system can do that."""
    command = [str(_python()), "-m", "service", *arguments]
    environment = {**_environment(), "PYTHONPATH": str(ROOT)}
    if sys.platform == "win32":
        sys.exit(subprocess.run(command, check=False, env=environment).returncode)
    sys.stdout.flush()
    os.execve(command[0], command, environment)  # noqa: S606 - this very program


def _sha256(path: Path) -> str:
    """Give the SHA-256 of a file in hexadecimal."""
    return hashlib.sha256(path.read_bytes()).hexdigest()
