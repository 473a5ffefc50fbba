"""The README, typed as it stands into a shell beside a running service."""

import re
import shutil
import subprocess
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple, get_args

import msgspec
import pytest

from service.bootstrap import ROOT
from service.domain.conflict import CODES
from service.domain.standing import REASONS, SCALE
from service.domain.unit import Phase
from service.http.openapi import described
from tests.readme.blocks import Step, files, steps
from tests.readme.likeness import like, like_text

BETWEEN = "\x1e"


class Came(NamedTuple):
    """What came of a step: what was printed, and the status of each answer of HTTP."""

    printed: str
    statuses: tuple[int, ...]


def typed(every: list[Step], environment: dict[str, str], folder: Path) -> list[Came]:
    """Type everything into one shell; gives what came of each step."""
    for name, text in files().items():
        (folder / name).write_text(text)
    mark = f"printf '{BETWEEN}'; printf '{BETWEEN}' >&2\n"
    script = "set -eu\n" + "".join(f"{step.typed.text}\n{mark}" for step in every)
    done = subprocess.run(
        ["bash", "-c", script],  # noqa: S607 - the reader's own shell
        capture_output=True,
        text=True,
        check=False,
        cwd=folder,
        env=environment,
        timeout=300,
    )
    assert done.returncode == 0, f"{done.stdout[-2000:]}\n{done.stderr[-2000:]}"
    pairs = zip(done.stdout.split(BETWEEN)[:-1], done.stderr.split(BETWEEN)[:-1], strict=True)
    return [Came(printed, tuple(int(status) for status in told.split())) for printed, told in pairs]


def differences(step: Step, came: Came) -> Iterator[str]:
    """Say what the README tells otherwise than it came."""
    for status in came.statuses[:-1] if step.status else came.statuses:
        if not 200 <= status < 300:
            yield f"line {step.typed.line}: answered with {status}"
    if step.status and came.statuses[-1:] != (step.status,):
        yield f"line {step.typed.line}: {step.status} is told, {came.statuses} came"
    if step.shown is not None and not as_shown(step.shown.language, step.shown.text, came.printed):
        yield f"line {step.shown.line}: shown is\n{step.shown.text}\nbut printed was\n{came.printed}"


def as_shown(language: str, shown: str, printed: str) -> bool:
    """Compare what is shown with what was printed; of several answers in JSON with the last."""
    if language == "text":
        return like_text(shown, printed)
    last = printed[printed.rindex("}{") + 1 :] if "}{" in printed else printed
    return like(msgspec.json.decode(shown), msgspec.json.decode(last))


def test_readme_answers_as_it_says(shell: dict[str, str], tmp_path: Path) -> None:
    """Every command of the README, typed in its order, is answered with the status and the words shown below it."""
    if shutil.which("curl") is None:
        pytest.skip("no curl on this machine")
    every = steps()
    assert len(every) >= 20
    came = typed(every, shell, tmp_path)
    found = [said for step, one in zip(every, came, strict=True) for said in differences(step, one)]
    assert not found, "\n\n".join(found)


def test_readme_names_every_word_of_an_answer() -> None:
    """Each standing, phase and reason that an answer may give is told in the README."""
    told = (ROOT / "README.md").read_text("utf-8")
    assert [word for word in (*SCALE, *get_args(Phase), *REASONS) if f"`{word}`" not in told] == []


def test_readme_shows_a_recall_to_its_end() -> None:
    """What is there is typed: asked about, opened, stopped and closed; and it is not told to be missing."""
    text = "\n".join(step.typed.text for step in steps())
    shown = ("recalls/preview", '"recall-opened"', "/quarantine", '"recall-closed"', "/notice")
    assert [word for word in shown if word not in text] == []
    told = (ROOT / "README.md").read_text("utf-8")
    assert "recall campaigns" not in told.partition("## What is not here yet")[2]


def test_site_app_of_the_readme_is_short() -> None:
    """The program shown has no more than the twenty lines that its heading tells."""
    [program] = files().values()
    assert len([line for line in program.splitlines() if line.strip()]) <= 20


def test_readme_says_where_the_conflicts_are_listed() -> None:
    """Every code of a conflict stands where the README sends its reader, the one that it names among them."""
    listed = described()["components"]["schemas"]["FoundConflict"]["properties"]["code"]["examples"]
    assert sorted(listed) == sorted(CODES)
    told = (ROOT / "README.md").read_text("utf-8")
    assert "`FoundConflict` in `openapi/openapi.json`" in told
    assert re.findall("by a code such as `([a-z-]+)`", told) == ["worn-while-quarantined"]
    assert "worn-while-quarantined" in listed


@pytest.mark.parametrize(
    ("shown", "given", "alike"),
    [
        ({"a": 1}, {"a": 1, "b": 2}, True),
        ({"a": 1}, {"b": 1}, False),
        ({"a": 1}, {"a": 2}, False),
        ({"a": True}, {"a": 1}, False),
        ({"a": "..."}, {"a": None}, True),
        ({"a": "..."}, {}, False),
        ("the first ... last", "the first and the last", True),
        ("the first ... last", "the last", False),
        ([1], [1, 2], False),
        ([1, "..."], [1, 2], True),
        ([1, 2, "..."], [1], False),
        ([], [1], False),
        (["..."], [], True),
    ],
)
def test_what_is_shown_is_held_against_what_came(shown: object, given: object, alike: bool) -> None:
    """What is shown must be there and equal; only `...` stands for anything, and a list is shown whole or says so."""
    assert like(shown, given) is alike
