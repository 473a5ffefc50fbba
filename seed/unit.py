"""What the scenario remembers of a unit and of its wearer while the year goes by."""

from datetime import date, datetime

import msgspec

from seed.models import Model


class Fitted(msgspec.Struct):
    """A part in a position: what it is, since when, and how many days it has worked."""

    item: str
    lot: str | None
    expires: str | None
    since: date
    worked: int = 0


class Unit(msgspec.Struct, eq=False, kw_only=True):
    """One unit.

    `role` is what the firm keeps it for, `fate` how the scenario means it to end; `neglected` keeps its wearer from
    replacing parts. `loading` climbs by `dust` a day of work; `examine_on` is when the next examination is planned.
    `born` is the message that registered it, `missed` the last day on which it went to work without a check.
    """

    tag: str
    serial: str
    model: Model
    role: str
    use: str
    home: str
    last: datetime
    size: str | None = None
    phase: str = "in-store"
    place: str | None = None
    parts: dict[str, Fitted] = {}
    loading: float = 0.0
    dust: float = 0.1
    capacity: float = 98.0
    clean: bool = True
    examined: date | None = None
    examine_on: date | None = None
    kept_for: str | None = None
    fate: str | None = None
    neglected: bool = False
    born: str = ""
    missed: date | None = None
    top: "Unit | None" = None

    @property
    def spare(self) -> bool:
        """Say whether the unit lies in the store, free for anybody."""
        return self.phase == "in-store" and self.role == "personal" and self.kept_for is None and self.fate is None


class Wearer(msgspec.Struct, eq=False, kw_only=True):
    """Someone with a unit of their own: what they wear, the unit they have now, and when they are away."""

    ref: str
    model: Model
    size: str | None = None
    unit: Unit | None = None
    away: tuple[tuple[date, date], ...] = ()
    careful: bool = True
    left: bool = False

    def away_on(self, day: date) -> bool:
        """Say whether the wearer is away on a day."""
        return self.left or any(first <= day <= last for first, last in self.away)
