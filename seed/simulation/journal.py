"""The journal of a simulation: what devices were told of their messages, and how the service answered."""

from collections import Counter, defaultdict

import msgspec

MOST_NAMED = 1000
"""How many differences are kept; the rest is counted."""


class Acknowledged(msgspec.Struct, frozen=True):
    """What an acknowledgement promises: the message stands in the log at this place, since this moment."""

    seq: int
    recorded_at: str


class Journal:
    """What was acknowledged, by id; what was refused or told otherwise the second time is a difference.

    `refused` has what was refused as it had to be, by id, and the device it is of. `slowest` has by device the longest
    that one of its messages was on its way and back, in seconds.
    """

    def __init__(self) -> None:
        self.acknowledged: dict[str, Acknowledged] = {}
        self.refused: dict[str, str] = {}
        self.statuses: Counter[int] = Counter()
        self.counts: Counter[str] = Counter()
        self.posts: list[float] = []
        self.asks: list[float] = []
        self.slowest: defaultdict[str, float] = defaultdict(float)
        self.differences: list[str] = []

    def answered(self, status: int, seconds: float, device: str) -> None:
        """Note an answer to a post."""
        self.statuses[status] += 1
        self.posts.append(seconds)
        self.slowest[device] = max(self.slowest[device], seconds)

    def acknowledge(self, event: str, told: Acknowledged, *, repeated: bool) -> None:
        """Note that a message is recorded; told twice, it has to stand at the same place since the same moment."""
        before = self.acknowledged.setdefault(event, told)
        self.counts["repeated"] += repeated
        if before != told:
            self.differ(f"event {event}: told as {before} first, then as {told}")

    def differ(self, difference: str) -> None:
        """Note that something is not as it should be."""
        self.counts["differences"] += 1
        if len(self.differences) < MOST_NAMED:
            self.differences.append(difference)
