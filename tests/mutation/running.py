"""Runs tests on a changed domain, each change in a process of its own that forgets it with its end.

The tests are collected once; a process that is forked from there puts the changed code into the functions it has, and
runs the tests that reach the line. What ran already when modules were imported or tests were collected can't be changed
so: there, the changed module is imported anew and its tests are collected again.
"""

import gc
import importlib.abc
import importlib.machinery
import importlib.util
import math
import os
import resource
import signal
import sys
from collections.abc import Callable, Iterator, Sequence
from itertools import zip_longest
from pathlib import Path
from types import CodeType, FunctionType, ModuleType

import pytest
from typing_extensions import override

from tests.mutation.mutants import Mutant

ROOT = Path(__file__).parents[2]
QUIET = ["-q", "-x", "-p", "no:cacheprovider", "--noconftest", "-c", "pyproject.toml", "--assert=plain"]
SUITE = ["tests/domain", "tests/golden"]
MEMORY = 6 * 2**30
"""Bytes that a process may take; a change that makes a loop endless is stopped by it, or by its time."""

Place = tuple[str, str, int]
"""Where a function is written: file, qualified name, first line."""


class Changed(importlib.abc.MetaPathFinder, importlib.abc.Loader):
    """Imports one module with a change in it."""

    def __init__(self, path: Path, mutant: Mutant) -> None:
        self.path, self.mutant = path, mutant
        parts = path.relative_to(ROOT).with_suffix("").parts
        self.module = ".".join(parts[:-1] if parts[-1] == "__init__" else parts)

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
        exec(code(self.path, self.mutant), module.__dict__)  # noqa: S102 -- the project's own source


def code(path: Path, mutant: Mutant) -> CodeType:
    """Give the code of a module with a change."""
    return compile(mutant.applied(path.read_text(encoding="utf-8")), str(path), "exec")


def afresh(path: Path, mutant: Mutant, tests: Sequence[str]) -> int:
    """Run tests on the changed module imported anew, and give their exit code."""
    sys.meta_path.insert(0, Changed(path, mutant))
    return int(pytest.main([*QUIET, *tests]))


class Collected:
    """The tests as collected, and every function of the domain as it is."""

    def __init__(self, session: pytest.Session) -> None:
        self.session = session
        self.items = {item.nodeid: item for item in session.items}
        self.functions: dict[Place, list[FunctionType]] = {}
        for found in gc.get_objects():
            if isinstance(found, FunctionType):
                self.functions.setdefault(place(found.__code__), []).append(found)
        gc.freeze()

    def run(self, path: Path, mutant: Mutant, tests: Sequence[str], seconds: Callable[[str], float]) -> int:
        """Run tests on functions with the changed code until one fails, and give an exit code."""
        for changed in codes(code(path, mutant)):
            for function in self.functions.get(place(changed), []):
                function.__code__ = changed
        items = [self.items[test] for test in tests]
        for item, following in zip_longest(items, items[1:]):
            signal.setitimer(signal.ITIMER_PROF, seconds(item.nodeid))
            item.config.hook.pytest_runtest_protocol(item=item, nextitem=following)
            if self.session.testsfailed:
                return 1
        return 0


def place(code: CodeType) -> Place:
    """Say where code is written."""
    return (code.co_filename, code.co_qualname, code.co_firstlineno)


def codes(code: CodeType) -> Iterator[CodeType]:
    """Give the code of every function and class in a code."""
    for one in code.co_consts:
        if isinstance(one, CodeType):
            yield one
            yield from codes(one)


def forked(work: Callable[[], int], seconds: float | None = None) -> int:
    """Do work in a process of its own, silently; give its pid. Whatever goes wrong there ends it with other than 0.

    It may take so many seconds of a processor, however busy the machine is.
    """
    child = os.fork()
    if child != 0:
        return child
    result = 1
    try:
        nowhere = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nowhere, 1)
        os.dup2(nowhere, 2)
        resource.setrlimit(resource.RLIMIT_AS, (MEMORY, MEMORY))
        if seconds is not None:
            resource.setrlimit(resource.RLIMIT_CPU, (math.ceil(seconds), math.ceil(seconds)))
        result = work()
    finally:
        os._exit(result)
