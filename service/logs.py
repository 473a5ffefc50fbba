"""The log of the process: one JSON object a line where machines read it, aligned and coloured on a terminal."""

import logging
from typing import TextIO

import msgspec
import structlog

LEVELS = structlog.make_filtering_bound_logger(logging.INFO)
BEFORE: list[structlog.typing.Processor] = [
    structlog.contextvars.merge_contextvars,
    structlog.processors.add_log_level,
    structlog.processors.TimeStamper(fmt="iso", utc=True),
]


def line(event: object, **_: object) -> bytes:
    """Write one event of the log; what JSON has no form for, as Python shows it."""
    return msgspec.json.encode(event, enc_hook=repr)


def configure(stream: TextIO) -> None:
    """Send everything to the stream. Traces name files and lines but never the values of variables."""
    if stream.isatty():
        lines = structlog.dev.ConsoleRenderer(exception_formatter=structlog.dev.plain_traceback)
        structlog.configure([*BEFORE, lines], LEVELS, logger_factory=structlog.PrintLoggerFactory(stream))
        return
    json = structlog.processors.JSONRenderer(serializer=line)
    structlog.configure(
        [*BEFORE, structlog.processors.format_exc_info, json],
        LEVELS,
        logger_factory=structlog.BytesLoggerFactory(stream.buffer),
        cache_logger_on_first_use=True,
    )
