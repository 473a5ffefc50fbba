"""The fenced blocks of README.md, in their order: what a reader types, and what the README says it answers."""

import re
from collections.abc import Iterator
from typing import NamedTuple

from service.bootstrap import ROOT

FENCE = re.compile(r"^```(\w+)\n(.*?)^```$", re.MULTILINE | re.DOTALL)
STATUS = re.compile(r"\b([1-5][0-9]{2})\b")
FILE = re.compile(r"`(\w+\.py)`")
TYPED = "sh"


class Block(NamedTuple):
    """A fenced block: its language, its text, the prose before it, and its line in the file."""

    language: str
    text: str
    before: str
    line: int


class Step(NamedTuple):
    """What is typed, and what the README shows of the answer, if it does.

    `status` is the last number of three digits in the words between the two; None says any success.
    """

    typed: Block
    shown: Block | None
    status: int | None


def blocks() -> Iterator[Block]:
    """Cut the README into its blocks."""
    text = (ROOT / "README.md").read_text("utf-8")
    end = 0
    for fence in FENCE.finditer(text):
        yield Block(fence[1], fence[2], text[end : fence.start()], text.count("\n", 0, fence.start()) + 1)
        end = fence.end()


def steps() -> list[Step]:
    """Give what is typed with what is shown of its answer."""
    every = list(blocks())
    return [_step(one, following) for one, following in zip(every, [*every[1:], None], strict=True) if _typed(one)]


def files() -> dict[str, str]:
    """Give the programs that the README has its reader save, by the name in the words before each."""
    return {FILE.findall(one.before)[-1]: one.text for one in blocks() if one.language == "python"}


def _typed(block: Block) -> bool:
    return block.language == TYPED


def _step(typed: Block, following: Block | None) -> Step:
    """Take what follows as its answer where that is one."""
    if following is None or following.language not in {"json", "text"}:
        return Step(typed, None, None)
    told = STATUS.findall(following.before)
    return Step(typed, following, int(told[-1]) if told else None)
