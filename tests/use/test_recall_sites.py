"""A recall of a whole model is told by site in time that grows with its units, not with units times sites."""

from collections.abc import Iterator
from datetime import UTC, datetime
from typing import TypeVar

from typing_extensions import override

from service.assessing.recall_reached import Impact
from service.domain.holder import Holder
from service.domain.recall.exposure import Hand
from service.domain.recall.impact import Touched
from service.domain.recall.spare import Spare

Of = TypeVar("Of")
SITES = [f"site-{number:03d}" for number in range(100)]
AT = datetime(2026, 3, 2, tzinfo=UTC)


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
        Touched((), (Hand(Holder(person=f"p-{site}"), site, AT, None, 60),), (), endless=False) for site in SITES
    )
    impact = Impact((), Looked(), stock, exposing)
    told = dict(impact.at_each(SITES))
    assert (stock.times, exposing.times) == (1, 1)
    assert [one.site for one in told["site-042"].stock] == ["site-042"]
    assert [one.people for one in told["site-042"].exposing] == [{"p-site-042"}]
    assert told["site-042"].counts.people == 1
