"""Whatever is told of stock, in whatever order and however often, is one ledger whose sums are right."""

from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.domain.label import sorting
from service.domain.stock.as_said import as_said
from service.domain.stock.keeping import Kept, keep
from service.domain.stock.ledger import account
from service.domain.stock.lines import Line
from service.domain.stock.shelf import Shelf, total
from tests.domain.stock.telling import changes, fitted, stock
from tests.oracle.posting import Posted

HOURS = st.integers(0, 23)
QUANTITIES = st.integers(0, 6)
LABELS: st.SearchStrategy[dict[str, Any]] = st.fixed_dictionaries(
    {"lot": st.sampled_from([None, "L-8", "L-9", "l-009"]), "expires": st.sampled_from([None, "2027-01", "2028-01"])}
)
PLACES = st.sampled_from([None, "store-a", "store-b"])


@st.composite
def tellings(draw: st.DrawFn) -> Posted:
    """Draw one event."""
    kind, hour, labels = (
        draw(st.sampled_from(["received", "counted", "discarded", "moved", "fitted"])),
        draw(HOURS),
        draw(LABELS),
    )
    if kind == "fitted":
        return fitted(hour, **{name: label for name, label in labels.items() if label})
    extra: dict[str, Any] = {"moved": {"to_site": draw(st.sampled_from(["works", "dock"]))}}.get(kind, {})
    extra |= {"reason": "wet"} if kind == "discarded" else {}
    extra |= {"place": draw(PLACES)} if kind != "moved" else {}
    said = {"unit": draw(st.sampled_from(["C62", "EA", "box"]))} | labels | extra
    return stock(kind, hour, draw(QUANTITIES), **said)


HISTORIES = st.lists(tellings(), max_size=14)


@given(HISTORIES, st.data())
def test_any_order_and_any_repetition_is_one_ledger(posted: list[Posted], data: st.DataObject) -> None:
    """Permuted and told again, the entries and what is left are the same."""
    told = changes(posted)
    again = data.draw(st.permutations([*told, *data.draw(st.lists(st.sampled_from(told), max_size=5))] if told else []))
    assert account(again) == account(told)


@given(HISTORIES)
def test_the_sums_are_right(posted: list[Posted]) -> None:
    """Each balance is that before it and the change; lines add up to it; a count's difference is its change."""
    found = account(changes(posted))
    balances: dict[str, Decimal] = {}
    for one in found.entries:
        unit = "box" if one.unit == "box" else "piece"
        assert one.balance == balances.get(unit, 0) + one.change
        assert one.change == sum(share.change for share in one.shares)
        assert one.expected == (one.quantity - one.change if one.what == "counted" else None)
        assert one.change == (-one.quantity if one.what in {"discarded", "moved-out", "fitted"} else one.change)
        assert one.change == (one.quantity if one.what in {"received", "moved-in"} else one.change)
        balances[unit] = one.balance
    for unit, balance in balances.items():
        of_unit = [line.quantity for line in found.lines if (line.unit == "box") == (unit == "box")]
        assert sum(of_unit) == balance
    assert all(line.quantity for line in found.lines)


@given(HISTORIES)
def test_recalls_lose_no_box_by_a_guess(posted: list[Posted]) -> None:
    """The cautious reading of the same events never has less than the books."""
    told, lines = changes(posted), dict[Line, Kept]()
    for _ in keep(told, as_said(), lines):
        pass
    by_book = sum((line.quantity for line in account(told).lines), Decimal(0))
    assert sum((total(kept.shelf) for kept in lines.values()), Decimal(0)) >= by_book


@st.composite
def happenings(draw: st.DrawFn) -> tuple[dict[str, int], list[Posted]]:
    """Draw what truly happened to three lots, and what was told of it: of some that came or went no lot was said."""
    there, told = dict.fromkeys(("L-7", "L-8", "L-9"), 0), list[Posted]()
    for hour in range(draw(st.integers(0, 14))):
        lot, said = draw(st.sampled_from(sorted(there))), draw(st.booleans())
        step = draw(st.sampled_from(["received", "counted", "discarded", "moved"]))
        much = there[lot] if step == "counted" else draw(st.integers(0, 6 if step == "received" else there[lot]))
        there[lot] += {"received": much, "counted": 0}.get(step, -much)
        extra = {"discarded": {"reason": "wet"}, "moved": {"to_site": "works"}}.get(step, {})
        told.append(stock(step, hour, much, lot=lot if said or step == "counted" else None, **extra))
    return there, told


@given(happenings())
def test_recalls_lose_no_box_of_any_lot(happened: tuple[dict[str, int], list[Posted]]) -> None:
    """What is truly there of a lot is told of the lot, or without a lot: it may have been another that was taken."""
    there, told = happened
    lines = dict[Line, Kept]()
    for _ in keep(changes(told), as_said(), lines):
        pass
    left = {line.lot: total(kept.shelf) for line, kept in lines.items()}
    for lot, much in there.items():
        assert left.get(sorting(lot), Decimal(0)) + left.get("", Decimal(0)) >= much


@pytest.mark.parametrize(
    ("told", "left"),
    [
        ([("received", 5, None), ("received", 10, "L-1"), ("discarded", 5, None)], {"": 5, "L-1": 10}),
        ([("received", 5, None), ("received", 3, "L-1"), ("discarded", 5, None)], {"": 3, "L-1": 3}),
        ([("received", 5, None), ("received", 3, "L-1"), ("discarded", 3, None)] * 2, {"": 10, "L-1": 6}),
        ([("received", 9, None), ("received", 3, "L-1"), *[("discarded", 2, None)] * 3], {"": 6, "L-1": 3}),
        (
            [("received", 9, None), ("received", 3, "L-1"), *[("discarded", 3, None), ("counted", 3, "L-1")] * 2],
            {"": 9, "L-1": 3},
        ),
        ([("received", 5, None), ("discarded", 5, None)], {"": 0}),
        ([("received", 5, None), ("received", 10, "L-1"), ("discarded", 2, "L-1")], {"": 5, "L-1": 8}),
    ],
)
def test_what_was_taken_without_a_lot_may_have_been_of_any(
    told: list[tuple[str, int, str | None]], left: dict[str, int]
) -> None:
    """It comes off what has no lot as far as the others together cannot have had it, and off none of those."""
    posted = [
        stock(step, hour, much, lot=lot, **({"reason": "wet"} if step == "discarded" else {}))
        for hour, (step, much, lot) in enumerate(told)
    ]
    lines = dict[Line, Kept]()
    for _ in keep(changes(posted), as_said(), lines):
        pass
    assert {line.lot: total(kept.shelf) for line, kept in lines.items()} == {
        lot and sorting(lot): much for lot, much in left.items()
    }


def test_a_recall_looks_at_no_line_for_what_another_was_told(monkeypatch: pytest.MonkeyPatch) -> None:
    """A firm has thousands of lots, and takes tens of thousands of parts without one."""
    sums = 0

    def counted(shelf: Shelf) -> Decimal:
        nonlocal sums
        sums += 1
        return total(shelf)

    monkeypatch.setattr("service.domain.stock.as_said.total", counted)
    came = [stock("received", 1, 5, lot=f"L-{nth}") for nth in range(200)]
    told = changes([stock("received", 0, 5, lot=None), *came, *[fitted(hour) for hour in range(2, 24)] * 9])
    for _ in keep(told, as_said(), {}):
        pass
    assert 0 < sums <= len(told)
