"""Which tests reach which line, and how long each takes: measured once, on the domain as it is."""

import hashlib
import json
import os
import sys
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Any

import coverage
import pytest

from tests.mutation.running import QUIET, ROOT, SUITE

STRONG = ("test_agreement", "test_folding_on", "test_convergence")
"""Tests that hold the whole fold against something else, the sharpest first: slow, but little escapes them."""


class Reached:
    """The tests that reach each line of each file, and their durations in seconds; a line imported is reached by ""."""

    def __init__(self, lines: dict[str, dict[str, list[str]]], seconds: dict[str, float]) -> None:
        self.lines, self.seconds = lines, seconds

    def imported(self, path: Path, line: int) -> bool:
        """Say whether a line ran before the tests did."""
        return "" in self.lines.get(str(path), {}).get(str(line), [])

    def tests(self, path: Path, line: int, budget: float) -> list[str]:
        """Give the tests that reach a line: the quickest ones for so many seconds, then strong ones for as many."""
        ranked = sorted(self._reaching(path, line), key=lambda test: self._rank(test, path))
        strong = {test: None for name in STRONG for test in ranked if name in test}
        return [*self._within(budget, (test for test in ranked if test not in strong)), *self._within(budget, strong)]

    def _within(self, budget: float, tests: Iterable[str]) -> Iterator[str]:
        for test in tests:
            budget -= self.seconds[test]
            if budget < 0:
                return
            yield test

    def _reaching(self, path: Path, line: int) -> Iterable[str]:
        """Give the tests that reach a line; of one that was imported, those of the file and its own, or else all.

        Its own may reach no line: what a cached function gave at the import is kept.
        """
        lines = self.lines.get(str(path), {})
        if not self.imported(path, line):
            return lines.get(str(line), [])
        reaching = {test for tests in lines.values() for test in tests if test}
        return reaching | {test for test in self.seconds if _own(path) in test} or self.seconds

    def _rank(self, test: str, path: Path) -> tuple[bool, bool, float, str]:
        """Put a module's or a kind's own tests first, then those of its folder, then the quickest."""
        return (_own(path) not in test, f"tests/domain/{path.parent.name}/" not in test, self.seconds[test], test)


class Watching:
    """A plugin that tells coverage which test runs, and notes how long each takes."""

    def __init__(self, watch: coverage.Coverage) -> None:
        self.watch = watch
        self.seconds: dict[str, float] = {}

    @pytest.hookimpl(wrapper=True)
    def pytest_runtest_protocol(self, item: pytest.Item) -> Iterator[Any]:
        """Name the test whose lines are counted."""
        self.watch.switch_context(item.nodeid)
        return (yield)

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        """Add up setup, call and teardown."""
        self.seconds[report.nodeid] = self.seconds.get(report.nodeid, 0.0) + report.duration


def _own(path: Path) -> str:
    """Give what the names of a module's or a kind's own tests have in them."""
    return path.stem.replace("_", "-") if path.parent.name == "kinds" else f"/test_{path.stem}.py"


def measure(kept: Path) -> Reached:
    """Run every test of the domain once, or read what was measured before of the same sources."""
    of = _digest()
    found = json.loads(kept.read_text(encoding="utf-8")) if kept.exists() else {}
    if found.get("of") != of:
        child = os.fork()
        if child == 0:
            os._exit(_measure(kept, of))
        if os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]) != 0:
            sys.exit("a test of the domain fails as it is")
        found = json.loads(kept.read_text(encoding="utf-8"))
    return Reached(found["lines"], found["seconds"])


def _digest() -> str:
    """Give one text for all the sources that are measured."""
    folders = ("service/domain", "service/reference", "tests/domain", "tests/oracle")
    files = sorted(file for folder in folders for file in (ROOT / folder).rglob("*.py"))
    return hashlib.sha256(b"".join(file.read_bytes() for file in files)).hexdigest()


def _measure(kept: Path, of: str) -> int:
    watch = coverage.Coverage(data_file=None, source=["service.domain"], config_file=False)
    plugin = Watching(watch)
    watch.start()
    code = int(pytest.main([*QUIET, *SUITE], plugins=[plugin]))
    watch.stop()
    data = watch.get_data()
    lines = {
        str(Path(name).relative_to(ROOT)): {
            str(line): [test for test in tests if test in plugin.seconds or not test]
            for line, tests in data.contexts_by_lineno(name).items()
        }
        for name in data.measured_files()
    }
    kept.write_text(json.dumps({"of": of, "lines": lines, "seconds": plugin.seconds}), encoding="utf-8")
    return code
