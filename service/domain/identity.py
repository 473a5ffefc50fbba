"""Identity: which unit a tag means at a moment.

Maker and serial number identify a unit for good; a second tag continues its history. A tag that was freed may be used
again; events before that moment stay with the old unit. Identity is settled before anything else is folded.
"""

from bisect import bisect_right
from collections.abc import Iterable
from uuid import UUID

from service.domain.facts import Fact, Key
from service.domain.kinds.registered import Registered
from service.domain.kinds.retagged import Retagged
from service.domain.world import World


class Identity:
    """The tags of one kin and the units they meant, each from a place in the fold on."""

    def __init__(self) -> None:
        self._owners: dict[str, list[tuple[Key, UUID]]] = {}
        self._serials: dict[tuple[str, str], UUID] = {}
        self.known_serials: set[UUID] = set()

    @classmethod
    def of(cls, facts: Iterable[Fact], world: World) -> "Identity":
        """Settle the identity of every tag from its registrations and retaggings, given in fold order."""
        identity = cls()
        for fact in facts:
            event = fact.event
            if isinstance(event, Registered):
                identity._register(fact, event, world)
            elif isinstance(event, Retagged):
                unit = identity.unit(event.asset, fact.key)
                if unit is not None:
                    identity._own(event.new_tag, fact.key, unit)
        return identity

    def _register(self, fact: Fact, event: Registered, world: World) -> None:
        serial = (world.maker(event.model), normal(event.serial))
        if serial in self._serials:
            self.known_serials.add(event.id)
        self._own(event.asset, fact.key, self._serials.setdefault(serial, event.id))

    def _own(self, tag: str, key: Key, unit: UUID) -> None:
        self._owners.setdefault(tag, []).append((key, unit))

    def unit(self, tag: str, key: Key) -> UUID | None:
        """Give the unit the tag means at a place in the fold: its first one before any, None for a tag not known."""
        owners = self._owners.get(tag)
        if not owners:
            return None
        return owners[max(bisect_right(owners, key, key=lambda owner: owner[0]) - 1, 0)][1]

    def tags(self) -> tuple[str, ...]:
        """Name every tag in use or once used."""
        return tuple(sorted(self._owners))

    def newest(self, tag: str) -> UUID | None:
        """Give the unit the tag means now."""
        owners = self._owners.get(tag)
        return owners[-1][1] if owners else None


def normal(serial: str) -> str:
    """Give a serial as it is compared: trimmed and in capitals."""
    return serial.strip().upper()
