"""Which units a recall still has to order out of use, and what each order is called."""

from uuid import UUID, uuid5

from service.domain.recall.stopping import Skipped, order_id, stopping
from service.domain.unit import Cause
from tests.domain.units import at, event, unit

HELD = Cause("recall", at(1), event(1), "r-1")


def test_units_are_divided_by_what_is_still_to_be_done() -> None:
    """What is gone or cannot be found is passed over, what is held for the recall is counted, the rest is ordered."""
    free, other = unit(tag="A-1"), unit(tag="A-2", held=(Cause("recall", at(1), event(1), "r-2"),))
    gone, lost = unit(tag="A-3", retired=True), unit(tag="A-4", missing=True)
    found = stopping([free, gone, unit(tag="A-5", held=(HELD,)), other, lost, unit(tag="A-6", held=(HELD,))], "r-1")
    assert found.to_stop == (free, other)
    assert found.already == 2
    assert found.skipped == (Skipped("A-3", "retired"), Skipped("A-4", "missing"))


def test_what_is_retired_is_not_called_missing() -> None:
    """A unit that was missed before it was retired is gone for good; held or not, neither is ordered."""
    gone = unit(retired=True, missing=True, held=(HELD,))
    assert stopping([gone], "r-1").skipped == (Skipped("A-1", "retired"),)
    assert stopping([unit(missing=True, held=(HELD,))], "r-1").already == 0


def test_one_held_since_before_its_last_remedy_is_stopped_anew() -> None:
    """The remedy is ground for its release, so that the order that holds it stops nothing that came in since."""
    remedied = unit(held=(HELD,), remedied={"r-1": at(2)})
    assert stopping([remedied], "r-1").to_stop == (remedied,)


def test_an_order_is_called_by_what_it_orders() -> None:
    """The same unit, recall and number give the same name; another organisation gives another."""
    firm, mine = UUID(int=7), UUID(int=999)
    assert order_id(firm, "r-1", mine, 2) == uuid5(mine, "00000000-0000-0000-0000-000000000007/quarantined/r-1/2")
    names = {order_id(firm, "r-1", mine, 0), order_id(firm, "r-1", mine, 1), order_id(firm, "r-2", mine, 0)}
    assert len(names | {order_id(UUID(int=8), "r-1", mine, 0), order_id(firm, "r-1", UUID(int=998), 0)}) == 5
