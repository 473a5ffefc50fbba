"""Whose history an event belongs to: tags, serials and the units behind them."""

from dataclasses import dataclass
from datetime import datetime
from typing import Any

from tests.oracle.fact import Fact
from tests.oracle.labels import plain
from tests.oracle.reference import Book

Unit = tuple[str, str]


@dataclass(frozen=True)
class Claim:
    """From a place in the order of truth on, a tag means a unit."""

    fact: Fact
    tag: str
    unit: Unit


def named(message: dict[str, Any], book: Book) -> Unit:
    """Name the unit of a registration: maker and serial number."""
    return (book.maker(message["model"]), plain(message["serial"]))


class Identity:
    """All claims of tags that stand, in order."""

    def __init__(self, facts: list[Fact], book: Book) -> None:
        registered = [fact for fact in facts if fact.kind == "registered"]
        self.claims = [Claim(fact, fact.get("asset"), named(fact.message, book)) for fact in registered]
        self.claims.sort(key=lambda claim: claim.fact.key)
        for fact in sorted((fact for fact in facts if fact.kind == "retagged"), key=lambda fact: fact.key):
            unit = self.owner(fact.get("asset"), fact.key)
            if unit is not None:
                self.claims.append(Claim(fact, fact.get("new_tag"), unit))
                self.claims.sort(key=lambda claim: claim.fact.key)

    def owner(self, tag: str, key: tuple[Any, ...]) -> Unit | None:
        """Find the unit a tag means at a place in the order: its last claim until then, else its first."""
        of_tag = [claim for claim in self.claims if claim.tag == tag]
        until = [claim for claim in of_tag if claim.fact.key <= key]
        chosen = until[-1] if until else of_tag[0] if of_tag else None
        return chosen.unit if chosen else None

    def units(self) -> list[Unit]:
        """List every unit ever registered."""
        return sorted({claim.unit for claim in self.claims})

    def registrations(self, unit: Unit) -> list[Fact]:
        """List the registrations of a unit, in order."""
        return [claim.fact for claim in self.claims if claim.unit == unit and claim.fact.kind == "registered"]

    def tag(self, unit: Unit, at: datetime) -> str | None:
        """Give the tag a unit bears at an instant, None before its registration."""
        if self.registrations(unit)[0].at > at:
            return None
        return [claim.tag for claim in self.claims if claim.unit == unit and claim.fact.at <= at][-1]

    def displaced(self, unit: Unit, tag: str, at: datetime) -> bool:
        """Say whether a tag has passed to another unit by an instant."""
        claims = [claim for claim in self.claims if claim.tag == tag and claim.fact.at <= at]
        return claims[-1].unit != unit
