"""Two years of two invented sites, by proposals and by "reorder at two boxes" (`python -m tests.domain.demand`)."""

import pytest

from tests.domain.demand.__main__ import outcomes, total
from tests.domain.demand.items import ITEMS
from tests.domain.demand.simulation import LEVEL, Outcome


@pytest.fixture(scope="module")
def rows() -> list[Outcome]:
    """Give what became of every item under both rules."""
    return outcomes(2)


def of(rows: list[Outcome], rule: str, item: str = "all") -> Outcome:
    """Give what became of an item, or of all, under a rule."""
    return total(item, rule, [row for row in rows if item in {"all", row.item}])


def test_both_rules_are_asked_for_the_same(rows: list[Outcome]) -> None:
    """The use is drawn once."""
    assert len(rows) == 2 * len(ITEMS)
    for item in ITEMS:
        assert of(rows, "proposals", item.name).asked == of(rows, "two boxes", item.name).asked > 0


def test_proposals_reach_the_service_level(rows: list[Outcome]) -> None:
    """In all, and for no item by more than a twentieth less."""
    assert of(rows, "proposals").fill >= LEVEL
    assert all(row.fill >= LEVEL - 0.05 for row in rows if row.rule == "proposals")


def test_proposals_are_better_than_two_boxes(rows: list[Outcome]) -> None:
    """More is given at once, less expires, and no more orders are placed."""
    proposed, boxes = of(rows, "proposals"), of(rows, "two boxes")
    assert boxes.fill < LEVEL < proposed.fill
    assert proposed.expired < boxes.expired / 2
    assert proposed.orders <= boxes.orders


@pytest.mark.parametrize("item", ["fast", "erratic", "ending", "fitted together", "short-lived"])
def test_two_boxes_fail_where_boxes_and_use_do_not_match(rows: list[Outcome], item: str) -> None:
    """Too few for what is used fast or in waves, too many for what expires."""
    assert of(rows, "two boxes", item).fill < of(rows, "proposals", item).fill
