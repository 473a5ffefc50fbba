"""What a line has read ahead of the log for its webhook, and when it may read on.

A log that grows without anything for the webhook is looked at twice a second at most. What is read ahead holds for one
version of the webhook, since another may ask for other events, and is forgotten when an attempt failed: a text that is
erased meanwhile is then sent no more.
"""

from collections import deque
from typing import Final

from service.assessing.feed import Followed, read_rows
from service.assessing.moment import Question
from service.domain.caller import Caller
from service.domain.recorded import Recorded
from service.store.lease_webhook import Leased

AHEAD: Final = 20
"""How many events are read from the log at a time."""
BETWEEN: Final = 1.0
"""Seconds that two looks in vain may have a third wait."""
NEVER: Final = float("-inf")


class Ahead:
    """Events that are still to be sent, the next first."""

    def __init__(self) -> None:
        self.version = 0
        self.rows: deque[Recorded] = deque()
        self._seen = 0
        self._in_vain = deque([NEVER, NEVER], maxlen=2)
        self.is_at_end = False

    @property
    def passed(self) -> int:
        """Give the seq up to which nothing is left to be sent for the first time."""
        return self.rows[0].seq - 1 if self.rows else self._seen

    def start_from(self, leased: Leased) -> None:
        """Go on from where the webhook is recorded to be; from there anew where it was changed."""
        if leased.version != self.version:
            self.version, self._seen = leased.version, leased.passed
            self.rows.clear()

    def forget(self) -> None:
        """Read anew what was read ahead."""
        self._seen = self.passed
        self.rows.clear()

    def go_back(self, seq: int) -> None:
        """Read anew from an event on that was taken."""
        self._seen = seq - 1
        self.rows.clear()

    def waits(self, time: float) -> float:
        """Give the seconds until the log may be looked at."""
        return 0.0 if self.rows else max(0.0, self._in_vain[0] + BETWEEN - time)

    async def take(self, question: Question, caller: Caller, leased: Leased, time: float) -> Recorded | None:
        """Give the next event, None where none was found as far as was looked; `is_at_end` says if that was all."""
        if not self.rows:
            kinds = None if leased.kinds is None else tuple(leased.kinds)
            wanted = Followed(kinds=kinds, site=leased.site, subject=leased.subject)
            found = await read_rows(question, caller, wanted, self._seen, AHEAD)
            self.rows.extend(found.rows)
            self._seen, self.is_at_end = found.last, found.last >= question.judged_to
            if not found.rows and self.is_at_end:
                self._in_vain.append(time)
        return self.rows.popleft() if self.rows else None
