"""Run the whole suite, on real PostgreSQL.

Without arguments the tools (format, lint, types, the layers of the code) and every test. Other arguments than those
below are handed to pytest alone.
"""

import argparse
import os
import subprocess
import sys
from pathlib import Path

EXAMPLES = """  python3 -m service test
  python3 -m service test --coverage
  python3 -m service test tests/domain -k calendar
"""
ROOT = Path(__file__).resolve().parent.parent.parent
TOOLS = (
    ("-m", "ruff", "format", "--check", "."),
    ("-m", "ruff", "check", "."),
    ("-c", "from importlinter.cli import lint_imports_command; lint_imports_command()"),
)
TYPES = ("-m", "mypy")
"""Works on one core alone, for the better part of a minute: it does so beside the tests, and is read after them."""
COVERED = ("--cov", "--cov-report=term:skip-covered", "--cov-fail-under=95")
TESTS = ("-m", "pytest", "-n", str(os.cpu_count() or 1), "--dist", "loadfile")
"""One process a core, each with a database server of its own; the tests of a file stay together."""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Take whatever pytest takes."""
    parser.usage = "%(prog)s [-h] [--coverage] [arguments of pytest]"
    parser.add_argument("--coverage", action="store_true", help="count covered lines, too; takes half as long again")
    parser.set_defaults(rest=[])


def run(options: argparse.Namespace) -> int:
    """Run the tools and the tests; gives 1 when anything failed."""
    handed: list[str] = options.rest
    if handed:
        return _python("-m", "pytest", *handed)
    tests = (*TESTS, *COVERED) if options.coverage else TESTS
    with _started(*TYPES, stdout=subprocess.PIPE) as types:
        failed = [tool for tool in (*TOOLS, tests) if _python(*tool)]
        told, _ = types.communicate()
    print(f"$ python {' '.join(TYPES)}\n{told}", end="", flush=True)
    if types.returncode:
        failed.append(TYPES)
    for tool in failed:
        print(f"failed: python {' '.join(tool)}", file=sys.stderr)
    return 1 if failed else 0


def _python(*arguments: str) -> int:
    """Run this environment's interpreter over the project; gives its exit code."""
    print(f"$ python {' '.join(arguments)}", flush=True)
    with _started(*arguments) as process:
        return process.wait()


def _started(*arguments: str, stdout: int | None = None) -> subprocess.Popen[str]:
    """Start this environment's interpreter over the project."""
    environment = {**os.environ, "PYTHONPATH": str(ROOT)}
    return subprocess.Popen([sys.executable, *arguments], cwd=ROOT, env=environment, stdout=stdout, text=True)
