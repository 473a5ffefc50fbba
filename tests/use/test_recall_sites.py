"""A recall of a whole model is told by site in time that grows with its units, not with units times sites."""

from collections.abc import Iterator
from datetime import UTC, datetime
from typing import TypeVar

from typing_extensions import override

from service.assessing import recalls
from service.assessing.moment import asked
from service.assessing.recall_counts import Counts, counted
from service.assessing.recall_reached import Impact
from service.domain.holder import Holder
from service.domain.kinds.recall_opened import Criterion
from service.domain.recall.exposure import Hand
from service.domain.recall.impact import Touched
from service.domain.recall.opening import supposed
from service.domain.recall.spare import Spare
from service.ledger import Ledger
from tests.oracle.histories import random_history
from tests.use.posting import caller_of, post

Of = TypeVar("Of")
SITES = [f"site-{number:03d}" for number in range(100)]
AT = datetime(2026, 4, 1, tzinfo=UTC)


class Looked(tuple[Of, ...]):  # noqa: SLOT001 -- it has a number of its own
    """Counts how often it is gone through."""

    times = 0

    @override
    def __iter__(self) -> Iterator[Of]:
        """Count, and go through it."""
        self.times += 1
        return super().__iter__()


def test_what_is_told_of_many_sites_is_gone_through_once() -> None:
    """Units, people and stock are divided among all sites together."""
    stock = Looked(Spare(site, "pf-170", "R1", None, 5.0, "C62", certain=True) for site in SITES)
    exposing = Looked(
        Touched((), (Hand(Holder(person=f"p-{site}"), site, AT, None, 60, certain=True),), (), endless=False)
        for site in SITES
    )
    impact = Impact((), Looked(), stock, exposing)
    told = dict(impact.at_each(SITES))
    assert (stock.times, exposing.times) == (1, 1)
    assert [one.site for one in told["site-042"].stock] == ["site-042"]
    assert [hand.holder.person for one in told["site-042"].exposing for hand in one.hands] == ["p-site-042"]


def test_persons_are_counted_wherever_they_had_a_unit() -> None:
    """Over all each is one, whatever sites that was at; who is no person counts for none, and has a site all the same.

    All is gone through once.
    """
    exposing = Looked([_had("dock", person="p-1"), _had("works", person="p-1"), _had("mesa", crew="night")])
    told = counted(Impact((), Looked(), (), exposing))
    assert {site: counts.people for site, counts in told.sites.items()} == {"dock": 1, "mesa": 0, "works": 1}
    assert told.total == Counts(0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, people=1)
    assert exposing.times == 1


async def test_each_site_is_counted_as_it_is_alone(ledger: Ledger) -> None:
    """And units are added up to what there is over all."""
    await post(ledger, random_history(95, 150).posted)
    async with asked(ledger, caller_of("office"), AT) as question:
        models = tuple(Criterion(model=model) for model in ("hood", "pack", "mask", "bare"))
        items = tuple(Criterion(item=item) for item in sorted(question.world.rulebook.items.timelines))
        found = await recalls.impact(question, [supposed((*models, *items), AT)], None)
    told = counted(found)
    assert {site: counted(there).total for site, there in found.at_each(told.sites)} == told.sites
    assert len(told.sites) > 1
    for step in ("units", "affected", "once", "outstanding"):
        assert sum(getattr(one, step) for one in told.sites.values()) == getattr(told.total, step)
    assert told.total.affected > 1


def _had(site: str, *, person: str | None = None, crew: str | None = None) -> Touched:
    """Tell of a unit that somebody had at a site."""
    return Touched((), (Hand(Holder(person=person, crew=crew), site, AT, None, 60, certain=True),), (), endless=False)
