"""Whatever is told of stock, in whatever order and however often, is one ledger whose sums are right."""

from decimal import Decimal
from typing import Any

from hypothesis import given
from hypothesis import strategies as st

from service.domain.stock.as_said import AS_SAID
from service.domain.stock.keeping import Kept, keep
from service.domain.stock.ledger import account
from service.domain.stock.lines import Line
from service.domain.stock.shelf import total
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
    for _ in keep(told, AS_SAID, lines):
        pass
    by_book = sum((line.quantity for line in account(told).lines), Decimal(0))
    assert sum((total(kept.shelf) for kept in lines.values()), Decimal(0)) >= by_book
