"""Identity: which unit a tag means at a moment.

Maker and serial number identify a unit for good; a second tag continues its history. A tag that was freed may be used
again; events before that moment stay with the old unit. Identity is settled before anything else is folded.
"""

from bisect import bisect_right, insort
from collections.abc import Iterable
from uuid import UUID

from service.domain.facts import Fact, Key
from service.domain.kinds.registered import Registered
from service.domain.kinds.retagged import Retagged
from service.domain.label import normal
from service.domain.world import World

KINDS = (Registered, Retagged)


class Identity:
    """The tags of one kin and the units they meant, each from a place in the fold on."""

    def __init__(self) -> None:
        self._owners: dict[str, list[tuple[Key, UUID]]] = {}
        self._serials: dict[tuple[str, str], UUID] = {}
        self.registrations: dict[UUID, list[Fact]] = {}
        self.claims: list[tuple[UUID, Fact]] = []

    @classmethod
    def of(cls, facts: Iterable[Fact], world: World) -> "Identity":
        """Settle the identity of every tag: by its registrations, then by the retaggings in order."""
        identity = cls()
        ordered = sorted(facts, key=lambda fact: fact.key)
        for fact in ordered:
            if isinstance(fact.event, Registered):
                identity._register(fact, fact.event, world)
        for fact in ordered:
            if isinstance(fact.event, Retagged):
                identity._retag(fact, fact.event)
        return identity

    def _register(self, fact: Fact, event: Registered, world: World) -> None:
        serial = (world.maker(event.model), normal(event.serial))
        unit = self._serials.setdefault(serial, event.id)
        self.registrations.setdefault(unit, []).append(fact)
        self._own(event.asset, fact, unit)

    def _retag(self, fact: Fact, event: Retagged) -> None:
        unit = self.unit(event.asset, fact.key)
        if unit is not None:
            self._own(event.new_tag, fact, unit)

    def _own(self, tag: str, fact: Fact, unit: UUID) -> None:
        insort(self._owners.setdefault(tag, []), (fact.key, unit), key=lambda owner: owner[0])
        self.claims.append((unit, fact))

    def unit(self, tag: str, key: Key) -> UUID | None:
        """Give the unit the tag means at a place in the fold: its first one before any, None for a tag not known."""
        owners = self._owners.get(tag)
        if not owners:
            return None
        return owners[max(bisect_right(owners, key, key=lambda owner: owner[0]) - 1, 0)][1]

    def newest(self, tag: str) -> UUID | None:
        """Give the unit the tag means in the end."""
        owners = self._owners.get(tag)
        return owners[-1][1] if owners else None

    def tags(self) -> tuple[str, ...]:
        """Name every tag in use or once used."""
        return tuple(sorted(self._owners))

    def model(self, unit: UUID, key: Key) -> str:
        """Name the unit's model at a place in the fold: as its last registration says, before any the first."""
        known = self.registrations[unit]
        event = known[max(bisect_right(known, key, key=lambda fact: fact.key) - 1, 0)].event
        if not isinstance(event, Registered):  # pragma: no cover - only registrations are kept
            raise TypeError(event.kind)
        return event.model

    def known_serials(self) -> tuple[UUID, ...]:
        """Name the registrations whose serial was on record already."""
        later = (fact for known in self.registrations.values() for fact in known[1:])
        return tuple(sorted(fact.event.id for fact in later))
