"""The story of one unit: where it is, in whose hands, and what was made of it."""

from __future__ import annotations

from datetime import datetime
from typing import Any, NamedTuple

from tests.oracle import clock
from tests.oracle.record import Message
from tests.oracle.told import SWAPS, remembered
from tests.oracle.trouble import Trouble

TO_STORE = frozenset({"returned", "received", "found", "moved", "sent-to-service", "retired"})
ENDS_AWAY = frozenset({"received", "returned", "issued", "stationed", "found"})
AWAY = {"moved": "in-transit", "sent-to-service": "at-service"}
WEARINGS = frozenset({"checked", "failed-check", "worn", "failed-in-use"})
SPECIAL = frozenset({"emergency", "training", "fit-test"})


class Place(NamedTuple):
    """Where a unit is put, in whose hands, and since when."""

    where: str
    holder: Message | None
    place: str | None
    since: datetime | None


class Story(Trouble):
    """The facts of a unit with where they put it."""

    @remembered
    def away(self, n: int) -> str | None:
        """Say whether it is in transit or at service."""
        for index in self.back(n):
            kind = self.facts[index].kind
            if kind in AWAY:
                return AWAY[kind]
            if kind in ENDS_AWAY or self.finding(index) or self.revival(index):
                return None
        return None

    @remembered
    def placed(self, n: int) -> Place:
        """Say where it was last put."""
        for index in self.back(n):
            place = self.puts(index)
            if place is not None:
                return place
        return Place("in-store", None, None, None)

    def puts(self, index: int) -> Place | None:
        """Say where a fact puts the unit, if anywhere."""
        fact = self.facts[index]
        if fact.echo:
            return None
        if fact.kind == "issued":
            return Place("issued", fact.get("holder"), fact.get("holder").get("place"), fact.at)
        if fact.kind == "stationed":
            return Place("stationed", None, fact.get("place"), fact.at)
        put_away = fact.kind == "quarantined" and fact.get("place") is not None
        if fact.kind in TO_STORE or put_away or self.finding(index) or self.revival(index) or self.to_store(index):
            return Place("in-store", None, fact.get("place"), fact.at)
        return None

    def to_store(self, index: int) -> bool:
        """Say whether a release led the unit to the store."""
        return bool(self.effective_release(index) and not self.away(index) and not self.missing(index))

    @remembered
    def phase(self, n: int) -> str:
        """Name the phase: retired, missing, away, quarantined, then where it is."""
        if self.retired(n):
            return "retired"
        if self.missing(n):
            return "missing"
        return self.away(n) or ("quarantined" if self.held(n) else self.placed(n).where)

    def place_name(self, n: int) -> str | None:
        """Name the place it is said to be at: where it was last seen, for a missing one."""
        for index in self.back(n):
            fact = self.facts[index]
            if fact.kind == "missing" and not fact.echo:
                return None if fact.get("last_place") is None else str(fact.get("last_place"))
            put = self.puts(index)
            if put is not None:
                return put.place
        return None

    def put_away(self, n: int) -> bool:
        """Say whether it is quarantined and in nobody's hands."""
        return bool(self.phase(n) == "quarantined" and self.placed(n).where == "in-store")

    def in_scope(self, n: int, at: datetime) -> bool:
        """Say whether it belongs to the rate."""
        if self.component(n):
            return False
        phase = self.phase(n)
        if phase == "in-store":
            return bool(self.setting("scope", "in_store", n, at))
        return phase in {"issued", "stationed"} or (phase == "quarantined" and not self.put_away(n))

    def wearer(self, index: int) -> str | None:
        """Name who wore it, if the fact is a wearing."""
        fact = self.facts[index]
        if fact.echo or fact.kind not in WEARINGS:
            return None
        wearer = fact.get("wearer")
        return None if wearer is None else str(wearer)

    def purpose(self, index: int) -> str:
        """Name the purpose of a use: an emergency if it stood ready for one and nothing else is said."""
        fact = self.facts[index]
        if fact.get("purpose") is not None:
            return str(fact.get("purpose"))
        stands = self.placed(index).where == "stationed" and not self.finding(index)
        ready = stands or self.use(index, fact.at) in {"emergency", "escape"}
        return "emergency" if ready else "routine"

    @remembered
    def leaving(self, index: int) -> bool:
        """Say whether a fact takes the unit out of a hand."""
        fact = self.facts[index]
        if fact.kind == "issued":
            holder = self.placed(index).holder
            return holder is not None and holder != fact.get("holder")
        return fact.kind == "missing" or self.puts(index) is not None

    def battery_swap(self, index: int) -> bool:
        """Say whether a fact changes the battery."""
        return self.facts[index].kind in SWAPS and self.role(index) == "battery"

    def battery_changed(self, index: int) -> bool:
        """Say whether a fact leaves another battery in the unit, by a swap or by a repair."""
        fact = self.facts[index]
        if fact.kind != "repaired":
            return self.battery_swap(index)
        positions = (self.model_of(index) or {}).get("positions") or []
        batteries = {found["position"] for found in positions if found["role"] == "battery"}
        return any(found["position"] in batteries for found in fact.get("parts") or [])

    def due_zone(self, n: int, day: Any) -> str:
        """Name the zone in which a due day ends."""
        return self.world.book.zone_on(self.site(n), day)

    def last_wearing(self, n: int) -> Message | None:
        """Give who wore it last, and when."""
        for index in self.back(n):
            person = self.wearer(index)
            if person is not None:
                return {"person": person, "at": clock.iso(self.facts[index].at)}
        return None
