from datetime import date, timedelta

import pytest

from service.domain.demand.changes import Change, Ground
from service.domain.demand.foretold import Foretold, foretold

TODAY = date(2026, 3, 2)


def change(place: str, days: int, because: Ground = "loading", every: int | None = None) -> Change:
    """Give a change so many days from today."""
    return Change(place, "pf-170", TODAY + timedelta(days=days), because, every)


@pytest.mark.parametrize(
    ("changes", "found"),
    [
        ((), Foretold(0, 0)),
        ((change("a", 0), change("b", 14), change("c", 15)), Foretold(0, 2)),  # the last day counts
        ((change("a", 0, every=7),), Foretold(0, 3)),  # today, in a week and in two
        ((change("a", 5, every=7),), Foretold(0, 2)),
        ((change("a", 0, every=15),), Foretold(0, 1)),
        ((change("a", 3, "recall"),), Foretold(1, 0)),
        ((change("a", 3, "recall", 10),), Foretold(1, 1)),  # what follows a recall is none
        ((change("a", 15, "recall"),), Foretold(0, 0)),
        ((change("a", 9), change("a", 3, "expiry")), Foretold(0, 1)),
        ((change("a", 3, "expiry"), change("a", 20)), Foretold(0, 1)),
        ((change("a", 20), change("a", 3, "recall")), Foretold(1, 0)),
        ((change("a", 3), change("a", 3, "recall")), Foretold(1, 0)),  # once, and for the recall
        ((change("a", 3, "recall"), change("a", 3)), Foretold(1, 0)),
    ],
)
def test_each_place_is_counted_once(changes: tuple[Change, ...], found: Foretold) -> None:
    """Within fourteen days, those that follow included."""
    assert foretold(changes, TODAY, 14) == found
