"""Write the description of the interface (OpenAPI 3.1), or check that a file still is it."""

import argparse
import sys
from pathlib import Path

EXAMPLES = """  respirators openapi > openapi.json
  respirators openapi --write openapi/openapi.json
  respirators openapi --check openapi/openapi.json
"""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the command's arguments."""
    either = parser.add_mutually_exclusive_group()
    either.add_argument("--write", type=Path, metavar="FILE", help="write it to this file")
    either.add_argument("--check", type=Path, metavar="FILE", help="end with 1 if this file says something else")


def run(options: argparse.Namespace) -> int:
    """Write or check; without either, print."""
    from service.http.openapi import document

    if options.check:
        same = options.check.is_file() and options.check.read_bytes() == document()
        print(f"{options.check} {'is' if same else 'is not'} what the routes say", file=sys.stderr)
        return 0 if same else 1
    if options.write:
        options.write.write_bytes(document())
    else:
        sys.stdout.buffer.write(document())
    return 0
