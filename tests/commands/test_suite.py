import pytest

from service.commands import main
from service.commands import test as suite


def test_arguments_are_handed_to_pytest(capfd: pytest.CaptureFixture[str]) -> None:
    """With arguments pytest alone runs, and its exit code is the command's."""
    assert main(("test", "--version")) == 0
    assert "$ python -m pytest --version\n" in capfd.readouterr().out
    assert main(("test", "tests/no-such-file.py", "-q")) == 4


@pytest.mark.parametrize(("ends", "code"), [(("0", "0", "0"), 0), (("0", "3", "0"), 1), (("0", "0", "1"), 1)])
def test_every_tool_runs_and_any_failure_counts(
    ends: tuple[str, ...], code: int, monkeypatch: pytest.MonkeyPatch, capfd: pytest.CaptureFixture[str]
) -> None:
    """Each tool and the tests run whatever became of the others, and one that is not content makes the run fail."""
    tool, tests, types = [("-c", f"print('tool {place}'); raise SystemExit({end})") for place, end in enumerate(ends)]
    monkeypatch.setattr(suite, "TOOLS", (tool,))
    monkeypatch.setattr(suite, "TESTS", tests)
    monkeypatch.setattr(suite, "TYPES", types)
    assert main(("test",)) == code
    told = capfd.readouterr()
    assert [line for line in told.out.splitlines() if line.startswith("tool")] == ["tool 0", "tool 1", "tool 2"]
    assert told.err.count("failed: python") == sum(end != "0" for end in ends)


def test_tools_are_those_the_project_is_held_to() -> None:
    """Format, lint, types and the layers are checked with the tests."""
    named = " ".join(" ".join(tool) for tool in (*suite.TOOLS, suite.TYPES))
    for tool in ("ruff format --check", "ruff check", "mypy", "importlinter"):
        assert tool in named


def test_lines_are_counted_where_asked_for(monkeypatch: pytest.MonkeyPatch, capfd: pytest.CaptureFixture[str]) -> None:
    """With --coverage pytest counts lines and fails under 95 %; without, it counts none."""
    monkeypatch.setattr(suite, "TOOLS", ())
    monkeypatch.setattr(suite, "TYPES", ("-c", ""))
    monkeypatch.setattr(suite, "TESTS", ("-c", "import sys; print('told', sys.argv[1:])"))
    assert main(("test", "--coverage")) == 0
    assert main(("test",)) == 0
    told = [line for line in capfd.readouterr().out.splitlines() if line.startswith("told")]
    assert told == ["told ['--cov', '--cov-report=term:skip-covered', '--cov-fail-under=95']", "told []"]
