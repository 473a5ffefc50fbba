"""The log of the process: one JSON object a line where machines read it, aligned and coloured on a terminal.

What libraries log by Python's own means goes the same way: their words, but not the values they would put into them.
"""

import logging
from typing import TextIO

import msgspec
import structlog
from structlog.typing import ExcInfo, Processor
from typing_extensions import override

from service.stack import stack

LEVELS = structlog.make_filtering_bound_logger(logging.INFO)
OF_CONNECTIONS = "psycopg.pool"
"""The library whose values say why the database is not reached, and speak of nothing that is in it."""


def trace(exc_info: ExcInfo) -> str:
    """Write a failure without values."""
    return stack(exc_info[1])


BEFORE: list[Processor] = [
    structlog.contextvars.merge_contextvars,
    structlog.processors.add_log_level,
    structlog.processors.TimeStamper(fmt="iso", utc=True),
    structlog.processors.ExceptionRenderer(trace),
]


class Passing(logging.Handler):
    """Passes on what libraries log."""

    @override
    def emit(self, record: logging.LogRecord) -> None:
        """Write a record as one line: the first of its words as the library wrote them, without values."""
        said = record.getMessage() if record.name == OF_CONNECTIONS else record.msg
        words = said.partition("\n")[0] if isinstance(said, str) else type(said).__qualname__
        log = structlog.get_logger()
        log.log(record.levelno, words, logger=record.name, exc_info=record.exc_info)


def line(event: object, **_: object) -> bytes:
    """Write one event of the log; what JSON has no form for, by its kind."""
    return msgspec.json.encode(event, enc_hook=lambda value: type(value).__qualname__)


def configure(stream: TextIO) -> None:
    """Send everything to the stream. Traces name files and lines, but neither values nor what exceptions say."""
    logging.basicConfig(handlers=[Passing()], level=logging.WARNING, force=True)
    if stream.isatty():
        lines = structlog.dev.ConsoleRenderer(exception_formatter=structlog.dev.plain_traceback)
        structlog.configure([*BEFORE, lines], LEVELS, logger_factory=structlog.PrintLoggerFactory(stream))
        return
    json = structlog.processors.JSONRenderer(serializer=line)
    structlog.configure(
        [*BEFORE, json],
        LEVELS,
        logger_factory=structlog.BytesLoggerFactory(stream.buffer),
        cache_logger_on_first_use=True,
    )
