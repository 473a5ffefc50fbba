"""The tally: the numbers of a summary, by site and over all.

Rates carry what they are made of, are cut, never rounded up, and are null over nothing. Units in scope make the rate;
the others are counted beside it, so that no rate is improved by forgetting.
"""

from collections import Counter

import msgspec

from service.domain.intervals import COMPONENT
from service.domain.rules import RULES
from service.domain.standing import SCALE
from service.domain.unit import PHASES

COMPLIANT = frozenset({"in-date", "due-soon"})
SHOWN = ("due-soon", "overdue", "do-not-use")
DECIMALS = 10_000


class Alike(msgspec.Struct, frozen=True):
    """So many units that stand alike; `rules` is one digit a rule (see `intervals`)."""

    phase: str
    in_scope: bool
    standing: str
    rules: str
    units: int = 1


class Tally:
    """Counts that can be added up."""

    def __init__(self) -> None:
        self.units = 0
        self.in_scope = 0
        self.compliant = 0
        self.standings: Counter[str] = Counter()
        self.phases: Counter[str] = Counter()
        self.rules: Counter[tuple[str, str]] = Counter()
        self.uses: Counter[str] = Counter()
        self.days: Counter[str] = Counter()

    def count(self, alike: Alike) -> None:
        """Count units; the retired, and components of others, are none."""
        if alike.phase == "retired" or alike.rules == COMPONENT:
            return
        self.units += alike.units
        self.standings[alike.standing] += alike.units
        self.phases[alike.phase] += alike.units
        if not alike.in_scope:
            return
        self.in_scope += alike.units
        self.compliant += alike.units * (alike.standing in COMPLIANT)
        for rule, digit in zip(RULES, alike.rules, strict=True):
            self.rules[rule.name, SCALE[int(digit)]] += alike.units

    def count_uses(self, *, covered: int, of: int) -> None:
        """Count uses."""
        self.uses["covered"] += covered
        self.uses["of"] += of

    def count_days(self, *, compliant: int, of: int) -> None:
        """Count days of units in scope."""
        self.days["compliant"] += compliant
        self.days["of"] += of

    def add(self, other: "Tally") -> None:
        """Add another's counts: numerators and denominators by themselves (R16)."""
        self.units += other.units
        self.in_scope += other.in_scope
        self.compliant += other.compliant
        for name in ("standings", "phases", "rules", "uses", "days"):
            getattr(self, name).update(getattr(other, name))

    def shown(self) -> dict[str, object]:
        """Give the members of a summary."""
        return {
            "units": self.units,
            "in_scope": self.in_scope,
            "compliant": self.compliant,
            "rate": cut(self.compliant, self.in_scope),
            "by_standing": {standing: self.standings[standing] for standing in (*SCALE[1:], SCALE[0])},
            "by_phase": {phase: self.phases[phase] for phase in PHASES if phase != "retired"},
            "uses": {"covered": self.uses["covered"], "of": self.uses["of"]},
            "unit_days": {"compliant": self.days["compliant"], "of": self.days["of"]},
            "by_rule": {rule.name: {standing: self.rules[rule.name, standing] for standing in SHOWN} for rule in RULES},
        }


def cut(numerator: int, denominator: int) -> float | None:
    """Give a rate cut to four decimals; nothing over nothing is no rate (R16)."""
    return None if denominator == 0 else numerator * DECIMALS // denominator / DECIMALS
