"""The quota of a key: how many refused messages of it wait to be settled before no more are kept.

Ours, not law: a kiosk gone wild must not fill the disk. A report of a failure is never lost to it: its row is kept
without the body, and withdraws the unit all the same.
"""

from typing import Final, Literal

import msgspec

from service.domain.problem import Problem
from service.recording.medical import HUSHED
from service.store.rejected_messages import HowKept

MESSAGES: Final = 10_000
"""Open rejected messages of one key."""
BYTES: Final = 64 * 2**20
"""Bytes of the bodies that are kept of them."""

FULL: Final = f"{MESSAGES:,} messages or {BYTES // 2**20} MiB of this key wait to be settled under /v1/rejected."
NOTES: Final[dict[HowKept | Literal["nothing"], str]] = {
    "fields": HUSHED,
    "report": f"The report of a failure is kept, without the message: {FULL}",
    "nothing": f"The message was not kept: {FULL} Send it again when some of them are settled.",
}
"""What is told beside the problem of a message that is not kept whole."""


class Used(msgspec.Struct, frozen=True):
    """What a key has in open rejected messages; `size` is that of the bodies in bytes."""

    messages: int
    size: int

    def room_for(self, body: bytes) -> bool:
        """Say whether one more is kept."""
        return self.messages < MESSAGES and self.size + len(body) <= BYTES

    def and_one(self, body: bytes) -> "Used":
        """Count one more."""
        return Used(self.messages + 1, self.size + len(body))


def told(problem: Problem, kept: HowKept | Literal["nothing"]) -> Problem:
    """Give the problem as its sender is told it: with what became of the message, where it is not kept whole."""
    note = NOTES.get(kept)
    if note is None:
        return problem
    ended = problem.detail if problem.detail.endswith((".", "?")) else f"{problem.detail}."
    return msgspec.structs.replace(problem, detail=f"{ended} {note}", members={**problem.members, "kept": kept})
