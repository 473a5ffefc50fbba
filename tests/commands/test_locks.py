import re
import tomllib

import pytest

from service.bootstrap import LOCKS, ROOT

PINNED = re.compile(r"([a-z0-9][a-z0-9._-]*)==(\S+)")
HASH = re.compile(r"--hash=sha256:[0-9a-f]{64}")
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))


def locked(purpose: str) -> dict[str, str]:
    """Read which version of which distribution a lock names."""
    return dict(PINNED.findall(LOCKS[purpose].read_text(encoding="utf-8")))


def names(requirements: list[str]) -> set[str]:
    """Give the normalised names of requirements."""
    return {re.split(r"[\[>=<;! ]", text, maxsplit=1)[0].lower().replace("_", "-") for text in requirements}


@pytest.mark.parametrize("purpose", ["serve", "test"])
def test_everything_is_locked_by_hash(purpose: str) -> None:
    """Every entry of a lock is one version with at least one SHA-256, from wheels alone, and no host is named."""
    text = LOCKS[purpose].read_text(encoding="utf-8")
    head, *entries = re.split(r"^(?=[a-z0-9])", text, flags=re.MULTILINE)
    assert head.split() == ["--only-binary", ":all:"]
    assert len(entries) > 30
    for entry in entries:
        first, *rest = (line.strip().rstrip("\\").strip() for line in entry.strip().splitlines())
        assert PINNED.match(first), first
        assert rest, first
        assert all(HASH.fullmatch(line) for line in rest), first
    assert "://" not in text
    assert "index-url" not in text


def test_lock_for_serving_names_all_dependencies() -> None:
    """What the project says it depends on is in the lock."""
    assert names(PROJECT["project"]["dependencies"]) <= set(locked("serve"))


def test_lock_for_tests_names_all_of_the_other_and_the_tools() -> None:
    """The lock for the tests holds the one for serving, version for version, and the tools."""
    assert locked("test").items() >= locked("serve").items()
    assert names(PROJECT["dependency-groups"]["dev"]) <= set(locked("test"))


def test_lock_for_serving_has_no_test_tools() -> None:
    """Nothing that tests or measures is installed to serve."""
    assert not {"pytest", "hypothesis", "testcontainers", "docker", "mypy", "ruff", "coverage"} & set(locked("serve"))
