"""What is moved does not last longer for it."""

from typing import Any

from service.domain.event import StockEvent
from service.domain.label import sorting
from service.domain.stock.arrivals import expiries_of, lots_to_look_for, with_expiries_of
from service.domain.stock.ledger import account
from tests.domain.stock.telling import changes, fitted, read, stock


def events(posted: list[Any]) -> list[StockEvent]:
    """Give events of stock."""
    return [event for _, event in read(posted)]


def test_lots_that_came_without_an_expiry_are_looked_for() -> None:
    """Not where one is told at the site, nor what names no lot, nor what was received so."""
    moved = stock("moved", 9, 2, to_site="works")
    assert lots_to_look_for(changes([moved], "works")) == {("p3", "L-9")}
    known = stock("received", 8, 2, site="works", expires="2027-01")
    assert lots_to_look_for(changes([moved, known], "works")) == frozenset()
    assert lots_to_look_for(changes([stock("moved", 9, 2, to_site="works", lot=None)], "works")) == frozenset()
    assert lots_to_look_for(changes([stock("received", 9, 2)])) == frozenset()
    assert lots_to_look_for(changes([moved])) == frozenset()


def test_the_soonest_expiry_told_is_taken() -> None:
    """A month ends with its last day; of other lots none is taken, nor of what names none.

    What says an expiry keeps it.
    """
    told = [stock("received", 7, 2, lot="l-9", expires=said) for said in ("2027-02", "2027-01-31", "2027-01")]
    told += [stock("received", 7, 2, lot=lot, expires="2026-01") for lot in ("L-7", None)]
    found = expiries_of(events([*told, stock("received", 8, 1)]))
    moved = [stock("moved", 9, 2, to_site="works", **said) for said in ({}, {"expires": "2030-01"}, {"lot": "L-8"})]
    assert [one.expires for one in with_expiries_of(changes(moved[:1], "works"), found)] == ["2027-01"]
    assert [one.expires for one in with_expiries_of(changes(moved[1:], "works"), found)] == ["2030-01", None]


def test_what_is_told_at_the_site_counts_whatever_was_looked_for_besides() -> None:
    """Others that are asked about at once need the expiry of the same lot elsewhere: here it stays as it is said."""
    said = [stock("moved", 9, 2, to_site="works"), stock("received", 8, 2, site="works", expires="2028-05")]
    told = with_expiries_of(changes(said, "works"), {("p3", sorting("L-9")): "2027-01"})
    assert {one.expires for one in told if one.what == "moved-in"} == {None}


def test_what_was_moved_without_a_lot_may_be_of_any() -> None:
    """Of two old and two new ones at the dock two go to the works: nobody said which, so no expiry goes with them.

    What is fitted there by its lot and expiry comes off them; had they been guessed to be the old ones it could not.
    """
    old, new = {"lot": "L-8", "expires": "2027-01"}, {"lot": "L-9", "expires": "2028-01"}
    sent = [
        stock("received", 7, 2, **old),
        stock("received", 7, 2, **new),
        stock("moved", 8, 2, to_site="works", lot=None),
    ]
    told = [*changes(sent, "works"), *(one._replace(site="works") for one in changes([fitted(9, **new)]))]
    there = with_expiries_of(told, expiries_of(events(sent)))
    assert [(one.lot, one.expires, int(one.quantity)) for one in account(there).lines] == [(None, None, 1)]
    guessed = [one._replace(expires="2027-01") if one.what == "moved-in" else one for one in there]
    assert [int(one.quantity) for one in account(guessed).lines] == [2, -1]
