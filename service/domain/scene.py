"""A scene: the stretch of time a unit is judged for, and the duties in force throughout it."""

from collections.abc import Iterator
from datetime import date, datetime, timedelta
from itertools import islice

from service.domain.calendar import before, day_end, day_start, local_day
from service.domain.kinds.item_defined import ItemDefined
from service.domain.kinds.model_defined import ModelDefined
from service.domain.period import Period
from service.domain.standing import FOREVER
from service.domain.unit import Counted, Unit
from service.domain.wearing import counts_working_days
from service.domain.words import expiry_day
from service.domain.working import WorkingUse, site_uses, working_uses
from service.domain.world import World

HORIZON = timedelta(days=2 * 366)
"""How far ahead uses are looked for."""


class Scene:
    """[since, until) for one unit as it stands at the start; nothing it is judged by changes within it.

    `until` may be FOREVER. `foresees` is false where only what has happened counts, not the uses that will be.
    """

    __slots__ = ("foresees", "looked_ahead", "since", "terms", "unit", "until", "world")

    def __init__(self, since: datetime, until: datetime, world: World, unit: Unit, *, foresees: bool = True) -> None:
        self.since = since
        self.until = until
        self.world = world
        self.unit = unit
        self.foresees = foresees
        self.looked_ahead = False
        self.terms = world.terms(unit, since)

    def without_end(self) -> "Scene":
        """Give the scene as if nothing were to happen ever after."""
        return Scene(self.since, FOREVER, self.world, self.unit, foresees=self.foresees)

    @property
    def model(self) -> ModelDefined | None:
        """Give the model in force."""
        return self.terms.model

    @property
    def profile(self) -> str | None:
        """Name the jurisdiction, None where the site is not known."""
        return None if self.terms.site is None else self.terms.site.profile

    @property
    def counts_working_days(self) -> bool:
        """Say whether each working day of the unit is a use."""
        return counts_working_days(self.unit, self.terms.pre_use)

    def item(self, ref: str) -> ItemDefined | None:
        """Give an item's version in force."""
        return self.world.rulebook.item(ref, self.since)

    def day(self, at: datetime) -> date:
        """Give the local day of a moment where the unit is."""
        return local_day(at, self.terms.zone)

    def start_of_day(self, day: date) -> datetime:
        """Give the instant at which a day begins where the unit is, in the zone in force on it."""
        return day_start(day, self.world.zone_on(self.unit.site, day))

    def end_of_day(self, day: date) -> datetime:
        """Give the instant at which a day is over where the unit is, in the zone in force on it."""
        return day_end(day, self.world.zone_on(self.unit.site, day))

    def end_of(self, expiry: str) -> datetime:
        """Give the instant at which an expiry has passed."""
        return self.end_of_day(expiry_day(expiry))

    def earlier(self, end: datetime, period: Period) -> datetime:
        """Give the instant a period before the end of a day, by the local clock."""
        last = end - timedelta(microseconds=1)
        zone = self.world.zone_on(self.unit.site, local_day(last, self.terms.zone))
        return before(end, period, zone)

    def working_uses(self, until: datetime) -> Iterator[WorkingUse]:
        """Give the site's working days and shifts that reach into [since, until), as far as they are looked for."""
        end = self.looked_for(until)
        site = self.terms.site
        if site is None:
            return working_uses(None, self.terms.zone, self.since, end)
        return site_uses(site, self.terms.zone, self.since, end)

    def looked_for(self, until: datetime) -> datetime:
        """Give how far uses are looked for, of those before a moment."""
        return self.since + HORIZON if until == FOREVER else until

    def further_uses(self, unit: Unit, until: datetime) -> Iterator[tuple[Counted, datetime]]:
        """Give the uses not counted yet, each with the first moment in issue within it."""
        known = {(old.site, old.day, old.shift) for old in unit.counted}
        for use in self.working_uses(until):
            key = (unit.site, use.day, use.shift or "")
            if key not in known:
                yield Counted(*key, use.end), max(use.start, self.since)

    def look_ahead(self) -> None:
        """Note that what is said rests on uses to come, which differ from moment to moment."""
        self.looked_ahead = True

    def nth_use(self, nth: int) -> datetime:
        """Give the moment of the nth further use: now for none, FOREVER where no such use is known."""
        self.look_ahead()
        if nth <= 0:
            return self.since
        if not self.foresees or not self.counts_working_days:
            return FOREVER
        uses = self.further_uses(self.unit, min(self.until, self.since + HORIZON))
        return next((at for _, at in islice(uses, nth - 1, None)), FOREVER)
