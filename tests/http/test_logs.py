"""The log of the process."""

import io
import json
import logging
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
import structlog
from typing_extensions import override

from service.logs import configure


@pytest.fixture(autouse=True)
def _fresh() -> Iterator[None]:
    """Leave the log of the other tests as it is."""
    before, root = structlog.get_config(), logging.getLogger()
    handlers, level = root.handlers[:], root.level
    yield
    structlog.configure(**before)
    root.handlers[:], root.level = handlers, level


class Terminal(io.StringIO):
    """A stream that a person looks at."""

    @override
    def isatty(self) -> bool:
        return True


def failed() -> None:
    """Log a failure that speaks of a person, and something not worth a line."""
    person = "p-3071"
    log = structlog.get_logger()
    log.debug("never written")
    try:
        int(person)
    except ValueError:
        log.exception("request failed", request_id="r-1")


def lines_of(tmp_path: Path, *logged: Callable[[], None]) -> list[Any]:
    """Log as in production, and give the lines."""
    with (tmp_path / "log").open("w") as stream:
        configure(stream)
        for one in logged:
            one()
    return [json.loads(line) for line in (tmp_path / "log").read_text().splitlines()]


def test_machines_read_one_object_a_line(tmp_path: Path) -> None:
    """In production each line is a JSON object with its moment, its level and, after a failure, the trace."""
    lines = lines_of(tmp_path, failed)

    assert [(line["event"], line["level"], line["request_id"]) for line in lines] == [
        ("request failed", "error", "r-1")
    ]
    assert lines[0]["timestamp"].endswith("Z")
    assert lines[0]["exception"].startswith("Traceback")
    assert lines[0]["exception"].endswith("    int(person)\nbuiltins.ValueError")
    assert "p-3071" not in str(lines)


def test_people_read_lines_on_a_terminal() -> None:
    """On a terminal a line is text, followed by the plain trace."""
    terminal = Terminal()
    configure(terminal)
    failed()

    assert "request failed" in terminal.getvalue()
    assert "Traceback" in terminal.getvalue()
    assert "p-3071" not in terminal.getvalue()
    assert not terminal.getvalue().startswith("{")


def test_what_libraries_log_is_a_line_too(tmp_path: Path) -> None:
    """What comes by Python's own logging is one more line, in the library's words and without its values."""

    def by_libraries() -> None:
        logging.getLogger("uvicorn.error").info("Started server process [%d]", 7)
        logging.getLogger("asyncio").error("Task exception was never retrieved\nfuture: %r", "p-3071")
        logging.getLogger("somewhere").warning(ValueError("p-3071"))
        logging.getLogger("psycopg.pool").warning("error connecting in %r: %s", "pool-1", "connection refused")

    lines = lines_of(tmp_path, by_libraries)

    assert [(line["logger"], line["level"], line["event"]) for line in lines] == [
        ("asyncio", "error", "Task exception was never retrieved"),
        ("somewhere", "warning", "ValueError"),
        ("psycopg.pool", "warning", "error connecting in 'pool-1': connection refused"),
    ]


def test_what_json_has_no_form_for_is_told_by_its_kind(tmp_path: Path) -> None:
    """A value that JSON cannot hold is named by its kind, since its own words may say anything."""
    lines = lines_of(tmp_path, lambda: structlog.get_logger().info("odd", value=ValueError("p-3071")))

    assert lines[0]["value"] == "ValueError"
