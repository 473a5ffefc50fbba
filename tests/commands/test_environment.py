"""The whole way into the own environment, in a project whose locks name nothing, so that no registry is asked."""

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from service.bootstrap import PIP, ROOT

COMMANDS = """
import sys
def main(arguments):
    print(sys.prefix, arguments, sep="|")
    return 7
"""


@pytest.fixture
def project(tmp_path: Path) -> Path:
    """Give a project of the way in alone, in a path with a space; its program prints where it runs and ends with 7."""
    root = tmp_path / "a project"
    (root / "service").mkdir(parents=True)
    (root / "deploy").mkdir()
    for name in ("__init__.py", "__main__.py", "bootstrap.py", "lock.py"):
        shutil.copy(ROOT / "service" / name, root / "service")
    (root / "service" / "commands.py").write_text(COMMANDS, encoding="utf-8")
    shutil.copy(PIP, root / "deploy")
    for name in ("requirements.lock", "requirements-dev.lock"):
        (root / "deploy" / name).write_text("# nothing\n", encoding="utf-8")
    return root


def start(project: Path, *arguments: str) -> subprocess.CompletedProcess[str]:
    """Start the program as a person does, with the environment of tests kept out of it."""
    kept = {name: value for name, value in os.environ.items() if not name.startswith("COV_")}
    return subprocess.run(
        [sys.executable, "-m", "service", *arguments],
        capture_output=True,
        text=True,
        check=False,
        cwd=project,
        env=kept,
    )


def test_first_run_makes_the_environment_and_the_second_uses_it(project: Path) -> None:
    """The program runs in `.venv` with its arguments, its exit code is handed on, and nothing is made twice."""
    environment = project / ".venv"
    first = start(project, "up", "--port", "80")
    assert first.returncode == 7, first.stderr
    assert first.stdout.splitlines() == [
        f"Making the environment {environment} (Python {sys.version_info[0]}.{sys.version_info[1]}).",
        "Installing the packages of requirements.lock.",
        f"{environment}|['up', '--port', '80']",
    ]
    second = start(project, "up")
    assert (second.returncode, second.stdout) == (7, f"{environment}|['up']\n")


def test_suite_adds_its_packages_once(project: Path) -> None:
    """The tests' packages are added to the environment that is there, and then serve for `up` too."""
    assert start(project, "up").returncode == 7
    added = start(project, "test")
    assert added.stdout.splitlines()[0] == "Installing the packages of requirements-dev.lock."
    assert start(project, "test").stdout.splitlines() == [f"{project / '.venv'}|['test']"]
    assert start(project, "up").stdout.splitlines() == [f"{project / '.venv'}|['up']"]


def test_changed_lock_makes_the_environment_anew(project: Path) -> None:
    """After the lock has changed nothing of the old environment is left."""
    assert start(project, "up").returncode == 7
    (project / ".venv" / "left").touch()
    (project / "deploy" / "requirements.lock").write_text("# still nothing\n", encoding="utf-8")
    again = start(project, "up")
    assert again.stdout.startswith("Making the environment ")
    assert not (project / ".venv" / "left").exists()


def test_environment_whose_python_is_gone_is_made_anew(project: Path) -> None:
    """An environment that no longer starts is replaced."""
    assert start(project, "up").returncode == 7
    python = project / ".venv" / "bin" / "python"
    python.unlink()
    python.symlink_to("/nowhere/python")
    again = start(project, "up")
    assert again.returncode == 7
    assert again.stdout.startswith("Making the environment ")


def test_installation_that_fails_is_told_and_taken_up_again(project: Path) -> None:
    """Where a package cannot be had the run ends with the reason, and the next run starts over."""
    lock = project / "deploy" / "requirements.lock"
    lock.write_text("no-such-file @ file:///nowhere/no_such_file-1-py3-none-any.whl --hash=sha256:" + "0" * 64, "utf-8")
    failed = start(project, "up")
    assert failed.returncode == 1
    assert "The packages could not be installed." in failed.stderr
    assert "not for musl (Alpine)" in failed.stderr
    lock.write_text("# nothing\n", encoding="utf-8")
    assert start(project, "up").returncode == 7


def test_strange_pip_installs_nothing(project: Path) -> None:
    """A pip that is not the reviewed one is not run."""
    with (project / "deploy" / PIP.name).open("ab") as wheel:
        wheel.write(b"more")
    refused = start(project, "up")
    assert refused.returncode == 1
    assert "is not the file it should be" in refused.stderr


@pytest.mark.parametrize("command", ["serve", "migrate", "key"])
def test_other_commands_take_the_environment_they_are_started_in(project: Path, command: str) -> None:
    """Where the packages are installed already, as in a container, no environment is made to serve."""
    run = start(project, command)
    assert (run.returncode, run.stdout) == (7, f"{sys.prefix}|['{command}']\n")
    assert not (project / ".venv").exists()
