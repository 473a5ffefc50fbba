"""The command: `python -m tests.mutation [--module NAME]... [--every N] [--jobs N]`.

Ends with 0 if at least nine of ten changes are noticed and every survivor is listed with its reason.
"""

import argparse
import os
import sys
import tempfile
import time
import tomllib
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import tests.oracle.cases
import tests.oracle.histories  # noqa: F401 -- imported once, for all the processes that follow
from tests.mutation.mutants import Mutant, mutants
from tests.mutation.reaching import Reached, measure
from tests.mutation.running import ROOT, notices

DOMAIN = ROOT / "service" / "domain"
LISTED = Path(__file__).with_name("survivors.toml")
ENOUGH = 0.9
SPARE = 20
"""Seconds beside twice their usual time that tests may take on a change."""


def main() -> int:
    """Change, run, count and tell."""
    options = asked()
    os.chdir(ROOT)
    os.environ.setdefault("TEST_HISTORIES", "24")
    reached = measure(options.measured)
    todo = list(chosen(options.module, options.every, options.offset))
    begun = time.monotonic()
    with ThreadPoolExecutor(options.jobs) as pool:
        results = pool.map(lambda one: (one, noticed(one[0], one[1], reached, options.budget)), todo)
        survivors = list(told(results, len(todo)))
    listed = {(one["module"], one["change"]) for one in tomllib.loads(LISTED.read_text("utf-8")).get("survivor", [])}
    unlisted = [(path, mutant) for path, mutant in survivors if (str(path), mutant.name) not in listed]
    score = 1 - len(survivors) / max(len(todo), 1)
    sys.stdout.write(
        f"{len(todo)} changes, {len(survivors)} survive ({len(unlisted)} of them not listed): {score:.1%} noticed, "
        f"{time.monotonic() - begun:.0f} s\n"
    )
    return int(score < ENOUGH or bool(unlisted))


def asked() -> argparse.Namespace:
    """Read the command line."""
    parser = argparse.ArgumentParser(prog="python -m tests.mutation", description=__doc__)
    parser.add_argument("--module", action="append", help="only this one, such as part_life or kinds/worn")
    parser.add_argument("--every", type=int, default=1, help="only every so many changes, a sample")
    parser.add_argument("--offset", type=int, default=0, help="the first of the sample")
    parser.add_argument("--jobs", type=int, default=2, help="processes at once")
    parser.add_argument("--budget", type=float, default=25, help="seconds of tests on a change")
    default = Path(tempfile.gettempdir()) / "mutation-reached.json"
    parser.add_argument("--measured", type=Path, default=default, help="where it is kept which tests reach which line")
    return parser.parse_args()


def chosen(modules: list[str] | None, every: int, offset: int) -> Iterator[tuple[Path, Mutant]]:
    """Give the changes to try: (path from the root, change)."""
    paths = sorted(DOMAIN.rglob("*.py")) if modules is None else [DOMAIN / f"{name}.py" for name in modules]
    found = ((path, mutant) for path in paths for mutant in mutants(path.read_text("utf-8")))
    for nth, (path, mutant) in enumerate(found):
        if nth % every == offset:
            yield path.relative_to(ROOT), mutant


def noticed(path: Path, mutant: Mutant, reached: Reached, budget: float) -> bool:
    """Say whether a test notices a change. One that no test reaches is not noticed."""
    tests = reached.tests(path, mutant.line, budget)
    if not tests:
        return False
    parts = path.with_suffix("").parts
    module = ".".join(parts[:-1] if parts[-1] == "__init__" else parts)
    seconds = SPARE + 2 * sum(reached.seconds[test] for test in tests)
    return notices(module, ROOT / path, mutant, tests, seconds)


def told(results: Iterator[tuple[tuple[Path, Mutant], bool]], total: int) -> Iterator[tuple[Path, Mutant]]:
    """Tell of each survivor as it is found, and give it."""
    for nth, ((path, mutant), gone) in enumerate(results, 1):
        if not gone:
            sys.stdout.write(f"{path}:{mutant.line} {mutant.name}\n")
            sys.stdout.flush()
            yield path, mutant
        if nth % 100 == 0:
            sys.stderr.write(f"{nth} of {total}\n")


if __name__ == "__main__":
    sys.exit(main())
