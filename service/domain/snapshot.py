"""Snapshots: where the fold of a kin stopped, or was marked, to be taken up from there."""

from datetime import datetime
from uuid import UUID

import msgspec
from msgspec.structs import replace

from service.domain.facts import Key
from service.domain.fold import Folded


class Snapshot(msgspec.Struct, frozen=True):
    """Where the fold of a kin stopped: its units as they were left, and the last place of all that was folded.

    Good news dated up to `watch` could make a failure's clock suspect: then the kin is folded anew. So it is where what
    comes shows a unit at a site no later than `days`, when the last of the days began (UTC) that were told of it alone,
    without a site: they begin and end where the unit was. Marks do not tell it: what follows them is placed already.
    """

    left: tuple[Folded, ...]
    owners: dict[str, UUID]
    key: Key
    watch: datetime | None = None
    days: datetime | None = None

    def without_outlook(self) -> "Snapshot":
        """Forget what was said of the time to come, since the world is another."""
        return replace(self, left=tuple(replace(one, ahead=None, asked=(), later=()) for one in self.left))


class Asked(msgspec.Struct, frozen=True):
    """What the world was asked: to place the facts of a kin, and to fold them up to the last."""

    placing: frozenset[str] = frozenset()
    folding: frozenset[str] = frozenset()

    def joined(self, other: "Asked") -> "Asked":
        """Give what was asked by both."""
        return Asked(self.placing | other.placing, self.folding | other.folding)


class Mark(msgspec.Struct, frozen=True):
    """A fold of one unit marked on its way: where it stood, and what it had asked by then."""

    snapshot: Snapshot
    folding: frozenset[str]
