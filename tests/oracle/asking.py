"""A question put to a rule, and its answer."""

from __future__ import annotations

from datetime import datetime
from typing import Any, NamedTuple

from tests.oracle.record import Message
from tests.oracle.story import Story

IN_DATE, DUE_SOON, OVERDUE, DO_NOT_USE, OUT = "in-date", "due-soon", "overdue", "do-not-use", "out-of-scope"
WORST = (OUT, IN_DATE, DUE_SOON, OVERDUE, DO_NOT_USE)


class Ask(NamedTuple):
    """A question: a unit, how many facts have happened, the instant, and whether it is asked as if issued then.

    `before` says that it is asked in the middle of the instant, before its bad news from elsewhere.
    """

    story: Story
    n: int
    at: datetime
    on_issue: bool = False
    before: bool = False

    @property
    def model(self) -> Message:
        """Give the model in force."""
        return self.story.model(self.n, self.at) or {}

    @property
    def use(self) -> str:
        """Name the use it is judged by: a stationed unit stands for emergencies."""
        if not self.on_issue and self.story.placed(self.n).where == "stationed":
            return "emergency"
        return self.story.use(self.n, self.at)


class Answer(NamedTuple):
    """The standing under one rule, the reasons that speak, and what else is said."""

    standing: str
    reasons: tuple[str, ...] = ()
    more: tuple[tuple[str, Any], ...] = ()


def worst(found: list[tuple[str, str]]) -> Answer:
    """Take the worst of pairs of standing and reason, in-date without any."""
    standing = max((standing for standing, _ in found), key=WORST.index, default=IN_DATE)
    return Answer(standing, tuple(sorted({reason for _, reason in found if reason})))
