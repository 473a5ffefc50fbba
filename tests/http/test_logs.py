"""The log of the process."""

import io
import json
from collections.abc import Iterator
from pathlib import Path

import pytest
import structlog
from typing_extensions import override

from service.logs import configure


@pytest.fixture(autouse=True)
def _fresh() -> Iterator[None]:
    """Leave the log of the other tests as it is."""
    before = structlog.get_config()
    yield
    structlog.configure(**before)


class Terminal(io.StringIO):
    """A stream that a person looks at."""

    @override
    def isatty(self) -> bool:
        return True


def failed() -> None:
    """Log a failure with a person in a variable, and something not worth a line."""
    person = "p-3071"
    log = structlog.get_logger()
    log.debug("never written")
    try:
        int(f"not a number{person[:0]}")
    except ValueError:
        log.exception("request failed", request_id="r-1")


def test_machines_read_one_object_a_line(tmp_path: Path) -> None:
    """In production each line is a JSON object with its moment, its level and, after a failure, the trace."""
    with (tmp_path / "log").open("w") as stream:
        configure(stream)
        failed()
    lines = [json.loads(line) for line in (tmp_path / "log").read_text().splitlines()]

    assert [(line["event"], line["level"], line["request_id"]) for line in lines] == [
        ("request failed", "error", "r-1")
    ]
    assert lines[0]["timestamp"].endswith("Z")
    assert lines[0]["exception"].startswith("Traceback")
    assert "p-3071" not in lines[0]["exception"]


def test_people_read_lines_on_a_terminal() -> None:
    """On a terminal a line is text, followed by the plain trace."""
    terminal = Terminal()
    configure(terminal)
    failed()

    assert "request failed" in terminal.getvalue()
    assert "Traceback" in terminal.getvalue()
    assert not terminal.getvalue().startswith("{")
