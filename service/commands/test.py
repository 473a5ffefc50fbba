"""Run the whole suite, on real PostgreSQL.

Without arguments first the tools (format, lint, types, the layers of the code), then every test with its coverage.
With arguments pytest alone, which they are handed to.
"""

import argparse
import os
import subprocess
import sys
from pathlib import Path

EXAMPLES = """  python3 -m service test
  python3 -m service test tests/domain -k calendar
"""
ROOT = Path(__file__).resolve().parent.parent.parent
TOOLS = (
    ("ruff", "format", "--check", "."),
    ("ruff", "check", "."),
    ("mypy",),
    ("importlinter.cli", "lint-imports"),
)


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the command's arguments."""
    parser.add_argument("pytest", nargs=argparse.REMAINDER, help="arguments for pytest")


def run(options: argparse.Namespace) -> int:
    """Run the tools and the tests; gives 1 when anything failed."""
    handed: list[str] = options.pytest
    if handed:
        return _python("pytest", *handed)
    failed = [tool[0] for tool in TOOLS if _python(*tool)]
    if _python("pytest", "--cov", "--cov-report=term:skip-covered"):
        failed.append("pytest")
    if failed:
        print(f"Failed: {', '.join(failed)}.", file=sys.stderr)
    return 1 if failed else 0


def _python(module: str, *arguments: str) -> int:
    """Run a module of this environment over the project."""
    print(f"$ python -m {' '.join((module, *arguments))}", flush=True)
    command = [sys.executable, "-m", module, *arguments]
    return subprocess.run(command, check=False, cwd=ROOT, env={**os.environ, "PYTHONPATH": str(ROOT)}).returncode
