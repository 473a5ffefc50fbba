import signal
import subprocess
import sys
from collections.abc import Callable
from typing import NoReturn

import pytest

from service.bootstrap import ROOT
from service.commands import COMMANDS, main, openapi
from service.commands.failures import OwnerNeeded

CALLS = [(*words, "--help") for words in COMMANDS]


@pytest.mark.parametrize("call", CALLS, ids=" ".join)
def test_every_command_has_help_with_examples(call: tuple[str, ...], capsys: pytest.CaptureFixture[str]) -> None:
    """Each command says in a sentence what it does, and shows examples of itself."""
    with pytest.raises(SystemExit) as ended:
        main(call)
    assert ended.value.code == 0
    told = capsys.readouterr().out
    assert "examples:\n" in told
    assert " ".join(call[:-1]) in told.partition("examples:\n")[2]


def test_help_names_every_command_exit_code_and_variable(capsys: pytest.CaptureFixture[str]) -> None:
    """The first help a person asks for leads everywhere."""
    with pytest.raises(SystemExit):
        main(("--help",))
    told = capsys.readouterr().out
    for words in COMMANDS:
        assert words[0] in told
    for word in ("exit codes:", "130", "DATABASE_URL", "MIGRATION_DATABASE_URL", "RESPIRATORS_DATA"):
        assert word in told


def test_no_command_is_no_success() -> None:
    """Called without a command the program ends with 2 and says what it takes."""
    with pytest.raises(SystemExit) as ended:
        main(())
    assert ended.value.code == 2


def test_unknown_argument_is_refused(capsys: pytest.CaptureFixture[str]) -> None:
    """An argument that the command does not know is named, and nothing is done."""
    with pytest.raises(SystemExit) as ended:
        main(("serve", "--prot", "80"))
    assert ended.value.code == 2
    assert "unrecognized arguments: --prot 80" in capsys.readouterr().err


def test_command_line_loads_little() -> None:
    """Reading the arguments loads neither what migrates nor what serves nor what tests."""
    code = "import sys, service.commands; print(*sys.modules)"
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True, cwd=ROOT)
    heavy = {"alembic", "sqlalchemy", "litestar", "uvicorn", "httpx", "pytest", "hypothesis", "seed"}
    assert not heavy & set(run.stdout.split())


@pytest.mark.parametrize(
    ("ends", "code"),
    [
        (lambda: 0, 0),
        (lambda: 1, 1),
        (lambda: _raise(OwnerNeeded()), 1),
        (lambda: _raise(KeyboardInterrupt()), 130),
    ],
    ids=["done", "otherwise", "not done", "Ctrl-C"],
)
def test_exit_code_tells_how_a_command_ended(
    ends: Callable[[], int], code: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Done is 0, not as it should be or not done is 1, stopped by Ctrl-C 130."""
    monkeypatch.setattr(openapi, "run", lambda _options: ends())
    assert main(("openapi",)) == code


def test_request_to_end_is_143(monkeypatch: pytest.MonkeyPatch) -> None:
    """Asked to end by the system, a command cleans up and ends with 143."""
    monkeypatch.setattr(openapi, "run", lambda _options: signal.raise_signal(signal.SIGTERM))
    with pytest.raises(SystemExit) as ended:
        main(("openapi",))
    assert ended.value.code == 143


def test_fault_of_the_program_shows_its_trace(monkeypatch: pytest.MonkeyPatch) -> None:
    """What has no sentence for a person is not hidden behind one."""
    monkeypatch.setattr(openapi, "run", lambda _options: _raise(LookupError("a bug")))
    with pytest.raises(LookupError, match="a bug"):
        main(("openapi",))


def _raise(failure: BaseException) -> NoReturn:
    raise failure
