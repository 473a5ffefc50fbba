"""The log of the service as it is written in production, read while the tests run."""

import json
import logging
import re
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, BinaryIO

import structlog

from service.logs import configure
from tests.separation.marks import marks_in

KEY = re.compile(rb"rl_[0-9A-Za-z]{6}")


@dataclass
class Log:
    """The lines so far; `fresh` are those of the last reading."""

    stream: BinaryIO
    fresh: list[bytes] = field(default_factory=list)

    def read(self) -> list[dict[str, Any]]:
        """Read what was written since the last reading."""
        self.fresh = self.stream.readlines()
        return [json.loads(line) for line in self.fresh]

    def told(self) -> list[bytes]:
        """Give the lines of the last reading that hold a mark of whatever sort, or the beginning of a key."""
        return [line for line in self.fresh if marks_in(line) or KEY.search(line)]


@contextmanager
def written(path: Path) -> Iterator[Log]:
    """Have the log written to a file; afterwards it is as it was."""
    before, root = structlog.get_config(), logging.getLogger()
    handlers, level = root.handlers[:], root.level
    with path.open("w") as out, path.open("rb") as back:
        configure(out)
        structlog.configure(cache_logger_on_first_use=False)  # or the loggers of modules would keep this file
        try:
            yield Log(back)
        finally:
            structlog.configure(**before)
            root.handlers[:], root.level = handlers, level
