"""The command: `python -m tests.mutation [--module NAME]... [--every N] [--jobs N]`.

Ends with 0 if at least nine of ten changes are noticed and every survivor is listed with its reason.
"""

import argparse
import os
import sys
import tempfile
import time
import tomllib
from collections.abc import Callable, Iterator
from functools import partial
from pathlib import Path

import hypothesis
import pytest

from tests.mutation.mutants import Mutant, mutants
from tests.mutation.reaching import Reached, measure
from tests.mutation.running import QUIET, ROOT, SUITE, Collected, afresh, forked

DOMAIN = ROOT / "service" / "domain"
LISTED = Path(__file__).with_name("survivors.toml")
ENOUGH = 0.9

Change = tuple[Path, Mutant]


class Trial:
    """A plugin that tries changes instead of running the tests that pytest has collected."""

    def __init__(self, options: argparse.Namespace, reached: Reached) -> None:
        self.jobs, self.budget, self.reached = options.jobs, options.budget, reached
        known = listed() if options.listed else None
        every = chosen(options.module, options.every, options.offset)
        self.todo = [(path, mutant) for path, mutant in every if known is None or (str(path), mutant.name) in known]
        self.survivors: list[Change] = []
        self.running: dict[int, Change] = {}

    def imported(self) -> None:
        """Try the changes of what runs when modules are imported, each with a start from nothing."""
        for change in self.todo:
            path, mutant = change
            if self.reached.imported(path, mutant.line):
                tests = self.reached.tests(path, mutant.line, self.budget)
                seconds = 30 + 4 * sum(self.reached.seconds[test] for test in tests)
                self._begin(change, partial(afresh, ROOT / path, mutant, tests), seconds)
        self._end()

    def pytest_runtestloop(self, session: pytest.Session) -> bool:
        """Try all other changes."""
        collected = Collected(session)
        for nth, change in enumerate(self.todo, 1):
            path, mutant = change
            tests = self.reached.tests(path, mutant.line, self.budget)
            if not tests:
                self._survived(change)
            elif not self.reached.imported(path, mutant.line):
                self._begin(change, partial(collected.run, ROOT / path, mutant, tests, self._allowed))
            if nth % 100 == 0:
                sys.stderr.write(f"{nth} of {len(self.todo)}\n")
        self._end()
        return True

    def _begin(self, change: Change, work: Callable[[], int], seconds: float | None = None) -> None:
        """Begin to run tests on a change as soon as there is room; they may take so many seconds of a processor."""
        while len(self.running) >= self.jobs:
            self._await()
        self.running[forked(work, seconds)] = change

    def _end(self) -> None:
        """Wait for all that runs."""
        while self.running:
            self._await()

    def _allowed(self, test: str) -> float:
        """Give the seconds of a processor that a test may take on a change."""
        return 3 + 4 * self.reached.seconds[test]

    def _await(self) -> None:
        """Wait until a process ends; one that took too long has been ended, and its change counts as noticed."""
        child, status = os.wait()
        change = self.running.pop(child)
        if os.waitstatus_to_exitcode(status) == 0:
            self._survived(change)

    def _survived(self, change: Change) -> None:
        path, mutant = change
        self.survivors.append(change)
        sys.stdout.write(f"{path}:{mutant.line} {mutant.name}\n")
        sys.stdout.flush()


def main() -> int:
    """Change, run, count and tell."""
    options = asked()
    os.chdir(ROOT)
    os.environ.setdefault("TEST_HISTORIES", "24")
    hypothesis.settings.load_profile("ci")
    trial = Trial(options, measure(options.measured))
    begun = time.monotonic()
    trial.imported()
    pytest.main([*QUIET, "-s", *SUITE], plugins=[trial])
    known = listed()
    unlisted = [mutant for path, mutant in trial.survivors if (str(path), mutant.name) not in known]
    score = 1 - len(trial.survivors) / max(len(trial.todo), 1)
    sys.stdout.write(
        f"{len(trial.todo)} changes, {len(trial.survivors)} survive ({len(unlisted)} of them not listed): "
        f"{score:.1%} noticed, {time.monotonic() - begun:.0f} s\n"
    )
    return int(score < ENOUGH or bool(unlisted))


def asked() -> argparse.Namespace:
    """Read the command line."""
    parser = argparse.ArgumentParser(prog="python -m tests.mutation", description=__doc__)
    parser.add_argument("--module", action="append", help="only this one, such as part_life or kinds/worn")
    parser.add_argument("--every", type=int, default=1, help="only every so many changes, a sample")
    parser.add_argument("--offset", type=int, default=0, help="the first of the sample")
    parser.add_argument(
        "--listed", action="store_true", help="only the survivors that are listed: does one still live?"
    )
    parser.add_argument("--jobs", type=int, default=2, help="processes at once")
    parser.add_argument(
        "--budget", type=float, default=3, help="seconds of quick tests on a change, and of strong ones"
    )
    default = Path(tempfile.gettempdir()) / "mutation-reached.json"
    parser.add_argument("--measured", type=Path, default=default, help="where it is kept which tests reach which line")
    return parser.parse_args()


def listed() -> set[tuple[str, str]]:
    """Give the survivors that are listed with a reason: (path from the root, change)."""
    groups = tomllib.loads(LISTED.read_text("utf-8")).get("survivors", [])
    return {(one["module"], change) for one in groups for change in one["changes"]}


def chosen(modules: list[str] | None, every: int, offset: int) -> Iterator[Change]:
    """Give the changes to try: (path from the root, change)."""
    paths = sorted(DOMAIN.rglob("*.py")) if modules is None else [DOMAIN / f"{name}.py" for name in modules]
    found = ((path, mutant) for path in paths for mutant in mutants(path.read_text("utf-8")))
    for nth, (path, mutant) in enumerate(found):
        if nth % every == offset:
            yield path.relative_to(ROOT), mutant


if __name__ == "__main__":
    sys.exit(main())
