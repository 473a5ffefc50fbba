"""States: what is stored of a kin to fold it on from where it was left, or from a mark."""

from collections.abc import Iterable, Iterator

import msgspec
from msgspec.structs import replace

from service.domain.fold import Folded
from service.domain.snapshot import Asked, Mark, Snapshot
from service.recording.rows import state_bytes
from service.store.kin_write import MarkRow


class KinState(msgspec.Struct, frozen=True):
    """Where a fold stopped, and what was asked to place and to fold that far; of a mark `placing` is not kept."""

    snapshot: Snapshot | None
    placing: tuple[str, ...]
    folding: tuple[str, ...]

    @property
    def asked(self) -> Asked:
        """Give what was asked."""
        return Asked(frozenset(self.placing), frozenset(self.folding))

    @property
    def left(self) -> tuple[Folded, ...]:
        """Give the units as they were left."""
        return () if self.snapshot is None else self.snapshot.left


STATE = msgspec.msgpack.Decoder(KinState)


def state_of(snapshot: Snapshot | None, asked: Asked) -> KinState:
    """Give the state in which a fold is stored."""
    return KinState(snapshot, tuple(sorted(asked.placing)), tuple(sorted(asked.folding)))


def mark_rows(marks: Iterable[Mark], before: Asked) -> Iterator[MarkRow]:
    """Give the marks of a story as they are stored; `before` is what had been asked where it begins."""
    for mark in marks:
        asked = Asked(folding=before.folding | mark.folding)
        snapshot = replace(mark.snapshot, days=None)  # what is folded again from it was placed with all days known
        yield MarkRow(at=snapshot.left[0].at, state=state_bytes(state_of(snapshot, asked)))
