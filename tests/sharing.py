"""Which tests stay together in one process, and which begin.

The tests of a file stay together, and those of a folder that makes something dear for all of them. Such folders begin,
and what takes a minute; then files with few tests, which are the long ones: what is left for the end is short, and
keeps no process waiting.
"""

from collections import Counter
from typing import Any

import pytest

SHARED = ("tests/seed", "tests/separation", "tests/store")
"""Folders with a fixture for all their tests."""
FIRST = (*SHARED, "tests/http/test_fuzzing.py")


def place(nodeid: str) -> str:
    """Give what a test stays together with: its file or its folder."""
    path = nodeid.partition("::")[0]
    folder = path.rpartition("/")[0]
    return folder if folder in SHARED else path


def in_order(items: list[pytest.Item]) -> None:
    """Put tests in the order in which they are handed out."""
    tests = Counter(place(item.nodeid) for item in items)
    items.sort(key=lambda item: (place(item.nodeid) not in FIRST, tests[place(item.nodeid)], place(item.nodeid)))


def scheduler(config: pytest.Config, log: Any) -> Any:
    """Give what hands out the tests of a place to one process, in their order."""
    from xdist.scheduler import LoadFileScheduling  # type: ignore[import-untyped] # noqa: PLC0415 - not in every run

    config.option.loadscopereorder = False
    made = LoadFileScheduling(config, log)
    made._split_scope = place
    return made
