"""Arguments that more than one command takes, and how their text is read."""

import argparse
import re
from datetime import UTC, date, datetime, time, timedelta

REFERENCE = re.compile(r"[A-Za-z0-9._-]{1,40}")


def organisation(parser: argparse.ArgumentParser) -> None:
    """Take the organisation the command works on."""
    parser.add_argument("--organisation", required=True, metavar="NAME", help="its name or its id")


def any_organisation(parser: argparse.ArgumentParser) -> None:
    """Take the organisation the command works on; left out, it is all of them."""
    parser.add_argument("--organisation", metavar="NAME", help="its name or its id (all of them)")


def as_json(parser: argparse.ArgumentParser) -> None:
    """Let the output be read by a program."""
    parser.add_argument("--json", action="store_true", help="one JSON object a line")


def reference(text: str) -> str:
    """Read a reference: 1 to 40 letters, digits, dots, dashes and underscores."""
    if not REFERENCE.fullmatch(text):
        message = f"{text!r} is no reference: 1 to 40 letters, digits, dots, dashes and underscores"
        raise argparse.ArgumentTypeError(message)
    return text


def moment(text: str) -> datetime:
    """Read a moment with its offset, or a date, which means the end of that day in UTC."""
    try:
        if len(text) == len("2026-12-31"):
            return datetime.combine(date.fromisoformat(text), time(), UTC) + timedelta(days=1)
        read = datetime.fromisoformat(text)
    except ValueError as failure:
        message = f"{text!r} is no moment: write a date such as 2026-12-31, or 2026-12-31T18:00:00+00:00"
        raise argparse.ArgumentTypeError(message) from failure
    if read.tzinfo is None:
        message = f"{text!r} has no offset: write 2026-12-31T18:00:00+00:00, or a date alone"
        raise argparse.ArgumentTypeError(message)
    return read.astimezone(UTC)


def moment_to_come(text: str) -> datetime:
    """Read a moment that lies ahead."""
    read = moment(text)
    if read <= datetime.now(UTC):
        message = f"{text!r} is past: write a moment that is still to come"
        raise argparse.ArgumentTypeError(message)
    return read
