"""The command line: one file per command, listed here once.

A command's file has a docstring whose first sentence is its summary, EXAMPLES, `add_arguments` and `run`. It imports
what it alone needs when it runs, so that `serve` never loads what migrates or tests. One that sets a default for `rest`
is given the arguments that it does not know.
"""

import argparse
import signal
import sys
from collections.abc import Sequence
from types import FrameType
from typing import NoReturn, Protocol, TypeAlias

from service.commands import (
    demo,
    erase_rejected,
    erase_texts,
    key_create,
    key_list,
    key_revoke,
    migrate,
    openapi,
    organisation_create,
    organisation_list,
    prune,
    rebuild,
    serve,
    simulate,
    summary,
    up,
    verify,
)
from service.commands import test as suite
from service.commands.failures import story

NOT_INSTALLED = "Where nothing is installed, `respirators` is `python3 -m service`."
EXIT_CODES = """exit codes:
  0    done
  1    not done, or what was checked is not as it should be; the reason is on the error output
  2    the command was not understood
  130  stopped by Ctrl-C, 143 by a request to end
"""
ENVIRONMENT = """environment:
  DATABASE_URL              PostgreSQL as the role that serves; without it the packaged server is used
  MIGRATION_DATABASE_URL    the same database as the role that owns the tables
  RESPIRATORS_DATA          folder of the packaged server's data (.respirators)
  RESPIRATORS_HOST, RESPIRATORS_PORT    where to listen (127.0.0.1, 8080)
  RESPIRATORS_POOL_SIZE     connections to the database (8)
  RESPIRATORS_WORKERS       processes that serve (1)
  RESPIRATORS_REQUESTS_A_MINUTE   how many requests of a key each process takes (30,000; 0 is any number)
  RESPIRATORS_LABEL_ADDRESS what the codes of labels begin with, as https://id.example.com (none: the tag alone)
  RESPIRATORS_WEBHOOK_KEY   what the secrets of webhooks come from, 32 characters or more (none: no webhooks)
  RESPIRATORS_WEBHOOK_PRIVATE     whether webhooks may go to private addresses and this machine: yes or no (no)
  RESPIRATORS_WEBHOOK_SECONDS     how long a receiver of webhooks may take (20)
  RESPIRATORS_DRAIN_SECONDS how long requests in flight may take when the service stops (20)
  RESPIRATORS_URL, RESPIRATORS_KEY    a running service and a key of it, for `summary`
                            (the key for `simulate --address`, too)
"""


class Command(Protocol):
    """What a command's file offers."""

    __doc__: str | None
    EXAMPLES: str

    def add_arguments(self, parser: argparse.ArgumentParser) -> None:
        """Declare the command's arguments."""

    def run(self, options: argparse.Namespace) -> int:
        """Carry the command out and give its exit code."""


COMMANDS: dict[tuple[str, ...], Command] = {
    ("up",): up,
    ("test",): suite,
    ("serve",): serve,
    ("summary",): summary,
    ("rebuild",): rebuild,
    ("verify",): verify,
    ("migrate",): migrate,
    ("organisation", "create"): organisation_create,
    ("organisation", "list"): organisation_list,
    ("key", "create"): key_create,
    ("key", "list"): key_list,
    ("key", "revoke"): key_revoke,
    ("erase", "texts"): erase_texts,
    ("erase", "rejected"): erase_rejected,
    ("prune",): prune,
    ("demo",): demo,
    ("simulate",): simulate,
    ("openapi",): openapi,
}
_Group: TypeAlias = "argparse._SubParsersAction[argparse.ArgumentParser]"  # noqa: SLF001 - argparse names it nowhere else
GROUPS = {
    "organisation": "Make and list organisations.",
    "key": "Make, list and revoke API keys.",
    "erase": "Erase what people wrote.",
}


def main(arguments: Sequence[str] | None = None) -> int:
    """Carry out the command the arguments name; gives the exit code."""
    whole = parser()
    options, rest = whole.parse_known_args(arguments)
    if rest and "rest" not in options:
        whole.error(f"unrecognized arguments: {' '.join(rest)}")
    options.rest = rest
    before = signal.signal(signal.SIGTERM, _end)
    try:
        return int(options.run(options))
    except KeyboardInterrupt:
        return 130
    except Exception as failure:  # what has a story is told in a line; the rest goes on as it came
        told = story(failure)
        if told is None:
            raise
        print(f"respirators: {told}", file=sys.stderr)
        return 1
    finally:
        signal.signal(signal.SIGTERM, before)


def parser() -> argparse.ArgumentParser:
    """Build the parser of all commands."""
    top = argparse.ArgumentParser(
        prog="respirators",
        description="Keep the records of a firm's respirators, and answer which may be used.",
        epilog=f"{ENVIRONMENT}\n{EXIT_CODES}",
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    groups: dict[tuple[str, ...], _Group] = {(): top.add_subparsers(metavar="command", required=True)}
    for words, command in COMMANDS.items():
        for name in words[:-1]:
            if (name,) not in groups:
                group = groups[()].add_parser(name, help=GROUPS[name], description=GROUPS[name])
                groups[(name,)] = group.add_subparsers(metavar="command", required=True)
        text = (command.__doc__ or "").strip()
        own = groups[words[:-1]].add_parser(
            words[-1],
            help=text.split("\n", 1)[0],
            description=text,
            epilog=f"examples:\n{command.EXAMPLES}\n{NOT_INSTALLED}",
            formatter_class=argparse.RawDescriptionHelpFormatter,
        )
        command.add_arguments(own)
        own.set_defaults(run=command.run)
    return top


def _end(_signal: int, _frame: FrameType | None) -> NoReturn:
    """End as on Ctrl-C when the system asks to, so that a database this process started is stopped too."""
    sys.exit(143)
