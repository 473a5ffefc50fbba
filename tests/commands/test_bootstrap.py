import json
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

from service import bootstrap
from service.bootstrap import LOCKS, PIP, PIP_SHA256, ROOT


@pytest.fixture
def environment(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Let the bootstrap work on an environment of the test's own."""
    place = tmp_path / "with space" / ".venv"
    place.parent.mkdir()
    monkeypatch.setattr(bootstrap, "ENVIRONMENT", place)
    monkeypatch.setattr(bootstrap, "STAMP", place / "respirator-ledger.json")
    return place


def test_bootstrap_needs_the_standard_library_alone() -> None:
    """`python3 -m service` gets as far as making its environment with no package installed."""
    code = f"import sys; sys.path.insert(0, {str(ROOT)!r}); import service.bootstrap; print(sorted(sys.modules))"
    run = subprocess.run([sys.executable, "-I", "-S", "-c", code], capture_output=True, text=True, check=True)
    loaded = {name.partition(".")[0] for name in json.loads(run.stdout.replace("'", '"'))}
    assert loaded - sys.stdlib_module_names == {"__main__", "service"}


def test_old_python_is_told_which_it_needs() -> None:
    """The file an old Python reads first names the version, and uses no grammar that is younger than Python 3.0."""
    text = (ROOT / "service" / "__main__.py").read_text(encoding="utf-8")
    before_check, _, _ = text.partition("from service.bootstrap")
    old = before_check.replace("sys.version_info", "(3, 6)")
    run = subprocess.run([sys.executable, "-I", "-c", old], capture_output=True, text=True, check=False)
    assert (run.returncode, run.stderr) == (1, "respirator-ledger needs Python 3.11 or newer; this is 3.6.\n")
    compile(text, "__main__.py", "exec", flags=0, dont_inherit=True)
    assert 'f"' not in text


def test_pip_is_the_one_that_was_reviewed() -> None:
    """The pip in the project has the SHA-256 that the program demands, and is a whole wheel of pip."""
    assert bootstrap._sha256(PIP) == PIP_SHA256
    with zipfile.ZipFile(PIP) as wheel:
        assert wheel.testzip() is None
        assert "pip/__main__.py" in wheel.namelist()


def test_environment_is_made_whole_where_ensurepip_is_missing(
    environment: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """An empty environment is made without pip, in a path with a space, and the project's pip runs in it."""
    monkeypatch.setitem(sys.modules, "ensurepip", None)
    bootstrap._begin("3.11")
    python = bootstrap._python()
    assert python.is_relative_to(environment)
    run = subprocess.run([python, PIP / "pip", "--version"], capture_output=True, text=True, check=True)
    assert run.stdout.startswith("pip 26.3 from ")
    listed = subprocess.run([python, PIP / "pip", "list"], capture_output=True, text=True, check=True)
    assert listed.stdout == ""


def test_environment_of_others_is_left_alone(environment: Path) -> None:
    """A `.venv` that this program did not make is neither used nor removed."""
    environment.mkdir()
    (environment / "mine").touch()
    with pytest.raises(SystemExit, match="was not made by this program"):
        bootstrap._begin("3.11")
    assert (environment / "mine").exists()


def test_environment_for_serving_grows_into_the_one_for_tests(
    environment: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The packages of the tests are added to an environment whose lock has not changed; otherwise it is made anew."""
    environment.mkdir()
    monkeypatch.setattr(bootstrap, "_starts", lambda: True)
    wanted = bootstrap._wanted("test")
    stamp = bootstrap._wanted("serve")
    assert bootstrap._can_grow(stamp, "test", wanted)
    assert not bootstrap._can_grow({**stamp, "serve": "an older lock"}, "test", wanted)
    assert not bootstrap._can_grow({**stamp, "python": "3.10"}, "test", wanted)
    assert not bootstrap._can_grow({}, "test", wanted)


def test_environment_for_tests_serves_too() -> None:
    """Whoever ran the suite needs nothing more to serve."""
    assert bootstrap._wanted("test").items() >= bootstrap._wanted("serve").items()
    assert set(LOCKS) == {"serve", "test"}


def test_children_get_no_paths_of_others(monkeypatch: pytest.MonkeyPatch) -> None:
    """Neither a caller's module path nor a target set for pip reaches the locked environment."""
    for name in ("PYTHONPATH", "PYTHONHOME", "PIP_TARGET", "PIP_PREFIX", "PIP_USER"):
        monkeypatch.setenv(name, "somewhere")
    child = bootstrap._environment()
    assert child["PIP_USER"] == "0"
    assert not {"PYTHONPATH", "PYTHONHOME", "PIP_TARGET", "PIP_PREFIX"} & set(child)
