"""How commands tell: what they give goes to the output, what they say about it to the error output."""

import sys
from typing import Any

import msgspec


def say(text: str) -> None:
    """Tell the person who started it."""
    print(text, file=sys.stderr, flush=True)


def give(value: Any) -> None:  # noqa: ANN401 - any value that JSON has a form for
    """Give one value as a line of JSON."""
    print(msgspec.json.encode(value).decode())
