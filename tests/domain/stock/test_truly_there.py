"""What is truly there of a lot is told of it, or without a lot, however little was said, and by days alone."""

from datetime import UTC, datetime, timedelta
from decimal import Decimal
from random import Random
from uuid import UUID

import pytest

from service.domain.label import sorting
from service.domain.stock.as_said import ByDay, as_said
from service.domain.stock.changes import STEPS, Change, What
from service.domain.stock.keeping import Kept, keep
from service.domain.stock.lines import Line
from service.domain.stock.shelf import total

BEGINNING = datetime(2026, 3, 2, tzinfo=UTC)
DAY = timedelta(days=1) - timedelta(microseconds=1)
LOTS = ("L-7", "L-8", "L-9")
WHATS: tuple[What, ...] = ("received", "counted", "discarded")


def happened(random: Random) -> tuple[dict[str, int], list[Change], list[ByDay]]:
    """Let things come, go and be counted over some days; some are told without a lot, some by their day alone."""
    there, told, by_day = dict.fromkeys(LOTS, 0), list[Change](), list[ByDay]()
    at = BEGINNING
    for nth in range(random.randrange(1, 14)):
        at += timedelta(minutes=random.randrange(1, 700))
        lot, what = random.choice(LOTS), random.choice(WHATS)
        most = 6 if what == "received" else there[lot]
        much = there[lot] if what == "counted" else random.randrange(most + 1)
        there[lot] += {"received": much, "discarded": -much}.get(what, 0)
        said = lot if what == "counted" or random.random() < 0.6 else None
        begins = at.replace(hour=0, minute=0)
        whole_day = random.random() < 0.3
        when = begins + DAY if whole_day else at
        change = Change(
            *(when, STEPS[what], what, "dock", "p3", said, None),
            *("C62", Decimal(much), None, UUID(int=nth + 1), 0),
        )
        told.append(change)
        by_day += [(begins, change)] if whole_day else []
    return there, told, by_day


@pytest.mark.parametrize("first", range(0, 2000, 500))
def test_no_box_of_any_lot_is_lost(first: int) -> None:
    """And what is told beyond is not always more than there is."""
    exact = 0
    for seed in range(first, first + 500):
        there, told, by_day = happened(Random(seed))  # noqa: S311 - guards nothing
        lines = dict[Line, Kept]()
        for _ in keep(told, as_said(by_day), lines):
            pass
        left = {line.lot: total(kept.shelf) for line, kept in lines.items()}
        for lot, much in there.items():
            assert left.get(sorting(lot), Decimal(0)) + left.get("", Decimal(0)) >= much, seed
        exact += sum(left.values(), Decimal(0)) == sum(there.values())
    assert exact > 200
