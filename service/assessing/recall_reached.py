"""What a recall has reached: units, and how far each has been dealt with, people and stock."""

from collections import defaultdict
from collections.abc import Iterable, Iterator
from datetime import datetime
from operator import itemgetter
from typing import TypeVar

import msgspec

from service.assessing.lives import Lived
from service.assessing.stored_lives import Away
from service.domain.lodging import Lodging
from service.domain.recall.campaign import Campaign
from service.domain.recall.impact import Touched
from service.domain.recall.opening import Opening
from service.domain.recall.progress import Course
from service.domain.recall.spare import Spare
from service.domain.recall.spells import Spell
from service.domain.unit import Unit

Of = TypeVar("Of")


class Done(msgspec.Struct, gc=False, frozen=True):
    """What was done about a unit in a spell under a recall: in which stretches it was put away, too.

    `seen` is when it was first had in hand; it is `located` then unless it is missing now.
    """

    spell: Spell
    seen: datetime | None
    located: datetime | None
    stopped: datetime | None
    away: tuple[Away, ...]


class Reached(msgspec.Struct, gc=False, frozen=True):
    """A unit that a recall speaks of, or once spoke of, and how far it has been dealt with.

    `since` is when it came under the recall, for what is under it now, and not before its opening; None where all was
    over by then. What was done about it is told from then on; `put_away_at` only while it lasts. `spells` tell the
    same of each spell that it was under it, the last one included. `lodged` tells what unit it is fitted in. `gone`
    says that it was retired before it came under the recall.
    """

    lived: Lived
    touched: Touched
    since: datetime | None
    last_spoken_at: datetime | None
    located_at: datetime | None
    stopped_at: datetime | None
    put_away_at: datetime | None
    remedied_at: datetime | None
    spells: tuple["Done", ...] = ()
    lodged: Lodging[Lived] | None = None
    gone: bool = False

    @property
    def host(self) -> Lived | None:
        """Give the unit that it is fitted in."""
        return None if self.lodged is None else self.lodged.host

    @property
    def awaited(self) -> bool:
        """Say whether anything of it is told by a day alone that is not over: what it holds, or where it is fitted."""
        return self.touched.ahead > 0 or (self.lodged is not None and self.lodged.since > self.lived.life.at)

    @property
    def earliest(self) -> datetime | None:
        """Give the earliest moment at which what is under the recall now may have come under it."""
        return self.spells[-1].spell.earliest if self.spells else None

    @property
    def outstanding(self) -> bool:
        """Say whether something is still to be done: what is retired is dealt with."""
        return self.touched.affected and not self.unit.retired

    @property
    def unit(self) -> Unit:
        """Give the unit as it is."""
        return self.lived.life.unit

    @property
    def site(self) -> str:
        """Name the site it is counted at; of a component that of the unit it is fitted in (R51)."""
        return (self.lived if self.host is None else self.host).standing.site


class Impact(msgspec.Struct, frozen=True):
    """What a recall has done, by unit and stock; `campaign` is None for what was only asked about.

    `courses` tell of all units how they went on as far as they were at the sites, wherever they are now.
    `exposing` are all units that somebody had or wore at the sites, wherever they are now, each with those alone.
    `expected` are the sites of units that it will speak of: they are registered on a day alone which is not over, and
    are none before. Of the stock `arriving` is what is told by such days. `doubtful` are the sites of units in which a
    component may be that is told in another.
    """

    openings: tuple[Opening, ...]
    units: tuple[Reached, ...]
    stock: tuple[Spare, ...]
    exposing: tuple[Touched, ...]
    courses: tuple[Course, ...] = ()
    campaign: Campaign | None = None
    expected: tuple[str, ...] = ()
    arriving: tuple[Spare, ...] = ()
    doubtful: tuple[str, ...] = ()

    @property
    def under(self) -> list[Reached]:
        """Give the units that came under the recall since it was opened."""
        return [one for one in self.units if one.since is not None]

    @property
    def sites(self) -> list[str]:
        """Name the sites where there is any of it."""
        stocked = {one.site for one in self.stock}
        return sorted({one.site for one in self.units} | stocked | {*self.expected, *self.doubtful})

    def at_each(self, sites: Iterable[str]) -> Iterator[tuple[str, "Impact"]]:
        """Give what it has done at each of some sites, without `courses`, of which nobody asks by site.

        All of it is divided once, however many sites there are: a recall of a model is of most units of a firm.
        """
        units = _divided((one.site, one) for one in self.units)
        stock = _divided((one.site, one) for one in self.stock)
        arriving = _divided((one.site, one) for one in self.arriving)
        exposing = _divided((site, one.at(frozenset({site}))) for one in self.exposing for site in one.exposing)
        expected = _divided((site, site) for site in self.expected)
        doubtful = _divided((site, site) for site in self.doubtful)
        for site in sites:
            yield (
                site,
                Impact(
                    self.openings,
                    units=tuple(units[site]),
                    stock=tuple(stock[site]),
                    exposing=tuple(exposing[site]),
                    campaign=self.campaign,
                    expected=tuple(expected[site]),
                    arriving=tuple(arriving[site]),
                    doubtful=tuple(doubtful[site]),
                ),
            )


def _divided(told: Iterable[tuple[str, Of]]) -> defaultdict[str, list[Of]]:
    """Divide what is told of sites by these."""
    found: defaultdict[str, list[Of]] = defaultdict(list)
    for site, one in told:
        found[site].append(one)
    return found


def by_tag(units: Iterable[Reached]) -> list[tuple[str, Reached]]:
    """Give units in the order of a list, each with its key there."""
    return sorted([(f"{one.unit.tag} {one.unit.unit}", one) for one in units], key=itemgetter(0))


def exposing_at(touched: Iterable[Touched], sites: frozenset[str] | None) -> Iterator[Touched]:
    """Give the units that somebody had or wore at the sites (None: any), each with those alone."""
    for one in touched:
        there = one if sites is None else one.at(sites)
        if there.hands or there.wearers:
            yield there
