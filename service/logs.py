"""The log of the process: one JSON object a line where machines read it, aligned and coloured on a terminal."""

import logging
from typing import TextIO

import structlog


def configure(stream: TextIO) -> None:
    """Send everything to the stream. Traces name files and lines but never the values of variables."""
    renderer: list[structlog.typing.Processor] = (
        [structlog.dev.ConsoleRenderer(exception_formatter=structlog.dev.plain_traceback)]
        if stream.isatty()
        else [structlog.processors.format_exc_info, structlog.processors.JSONRenderer()]
    )
    structlog.configure(
        processors=[
            structlog.contextvars.merge_contextvars,
            structlog.processors.add_log_level,
            structlog.processors.TimeStamper(fmt="iso", utc=True),
            *renderer,
        ],
        wrapper_class=structlog.make_filtering_bound_logger(logging.INFO),
        logger_factory=structlog.PrintLoggerFactory(stream),
        cache_logger_on_first_use=True,
    )
