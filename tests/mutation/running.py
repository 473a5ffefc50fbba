"""Runs tests on a changed module, each in a process of its own that forgets the change with its end."""

import importlib.abc
import importlib.machinery
import importlib.util
import os
import signal
import sys
import time
from collections.abc import Sequence
from pathlib import Path
from types import ModuleType

import pytest
from typing_extensions import override

from tests.mutation.mutants import Mutant

ROOT = Path(__file__).parents[2]
QUIET = ["-q", "-x", "-p", "no:cacheprovider", "--noconftest", "-c", "pyproject.toml", "--assert=plain"]


class Changed(importlib.abc.MetaPathFinder, importlib.abc.Loader):
    """Imports one module with a change in it."""

    def __init__(self, module: str, path: Path, mutant: Mutant) -> None:
        self.module, self.path, self.mutant = module, path, mutant

    @override
    def find_spec(
        self, fullname: str, path: Sequence[str] | None, target: ModuleType | None = None
    ) -> importlib.machinery.ModuleSpec | None:
        """Find the module, and no other."""
        if fullname != self.module:
            return None
        package = self.path.name == "__init__.py"
        return importlib.util.spec_from_loader(fullname, self, origin=str(self.path), is_package=package)

    @override
    def exec_module(self, module: ModuleType) -> None:
        """Run the module as changed."""
        if self.path.name == "__init__.py":
            module.__path__ = [str(self.path.parent)]
        code = compile(self.mutant.applied(self.path.read_text(encoding="utf-8")), str(self.path), "exec")
        exec(code, module.__dict__)  # noqa: S102 -- the project's own source


def notices(module: str, path: Path, mutant: Mutant, tests: Sequence[str], seconds: float) -> bool:
    """Say whether a test fails on the change, or none of them ends in time."""
    child = os.fork()
    if child == 0:
        _silence()
        sys.meta_path.insert(0, Changed(module, path, mutant))
        try:
            code = int(pytest.main([*QUIET, *tests]))
        except BaseException:  # noqa: BLE001 -- whatever a changed module does is noticed
            code = 1
        os._exit(code)
    return _waited(child, seconds) != 0


def _silence() -> None:
    nowhere = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nowhere, 1)
    os.dup2(nowhere, 2)


def _waited(child: int, seconds: float) -> int:
    """Wait for a child; one that takes too long is killed and counts as failed."""
    until = time.monotonic() + seconds
    while time.monotonic() < until:
        ended, status = os.waitpid(child, os.WNOHANG)
        if ended:
            return os.waitstatus_to_exitcode(status)
        time.sleep(0.01)
    os.kill(child, signal.SIGKILL)
    os.waitpid(child, 0)
    return 1
