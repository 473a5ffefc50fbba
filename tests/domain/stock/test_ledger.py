"""The stock ledger of an item at a site: its entries, its balances, and what each count explains."""

from datetime import date
from decimal import Decimal
from typing import Any

import pytest

from service.domain.stock.ledger import account
from tests.domain.stock.telling import balances, books, changes, fitted, left, stock
from tests.oracle.posting import Posted, moment

OLD = {"lot": "L-8", "expires": "2027-01"}
NEW = {"lot": "L-9", "expires": "2028-01"}


def test_every_change_has_its_balance() -> None:
    """What came is added, what was moved, thrown away or fitted new is taken off, a count says what there is."""
    posted = [
        stock("received", 8, 40),
        stock("moved", 9, 12, to_site="works"),
        stock("discarded", 10, 2, reason="wet"),
        fitted(11, lot="L-9"),
        fitted(11, "repaired", lot="L-9"),
        stock("counted", 12, 23),
    ]
    assert balances(posted) == [
        ("received", 40, 40),
        ("moved-out", -12, 28),
        ("discarded", -2, 26),
        ("fitted", -1, 25),
        ("fitted", -1, 24),
        ("counted", -1, 23),
    ]
    assert balances(posted, "works") == [("moved-in", 12, 12)]


def test_a_refitted_part_comes_from_no_shelf() -> None:
    """Only what is fitted new is taken."""
    assert balances([stock("received", 8, 4), fitted(9, lot="L-9", condition="refitted")]) == [("received", 4, 4)]


def test_a_late_event_takes_its_place() -> None:
    """A delivery that is told last comes first by its moment: nothing was ever short."""
    posted = [fitted(9, lot="L-9"), stock("counted", 10, 3), stock("received", 8, 4)]
    assert balances(posted) == [("received", 4, 4), ("fitted", -1, 3), ("counted", 0, 3)]
    assert not any(one.short for one in books(posted).entries)


def test_a_count_explains_the_difference() -> None:
    """Found less expected is the change; the entry says what was expected."""
    *_, last = books([stock("received", 8, 40), fitted(9, lot="L-9"), stock("counted", 10, 36)]).entries
    assert [last.quantity, last.expected, last.change, last.balance] == [36, 39, -3, 36]


def test_fractions_are_exact() -> None:
    """A tenth and two tenths less three tenths are nothing, and nothing falls short."""
    posted = [stock("received", 8, 0.1), stock("received", 9, 0.2), stock("discarded", 10, 0.3, reason="wet")]
    entries = books(posted).entries
    assert [one.balance for one in entries] == [Decimal("0.1"), Decimal("0.3"), 0]
    assert left(posted) == []


def test_what_is_taken_beyond_is_told_until_a_count() -> None:
    """Three fitted of one: two are short, the balance lies below nothing, and a count of none explains it."""
    posted = [stock("received", 8, 1), *(fitted(9, lot="L-9") for _ in range(3))]
    found = books(posted)
    assert [(int(one.balance), int(one.short)) for one in found.entries] == [(1, 0), (0, 0), (-1, 1), (-2, 1)]
    (line,) = found.lines
    assert (line.lot, int(line.quantity)) == ("L-9", -2)
    assert (line.since, line.by) == (found.entries[2].at, found.entries[2].event)

    assert balances([*posted, stock("counted", 10, 0)])[-1] == ("counted", 2, 0)
    assert left([*posted, stock("counted", 10, 0)]) == []


@pytest.mark.parametrize(("came", "lines"), [(1, [("L-9", None, -1)]), (2, []), (5, [("L-9", None, 3)])])
def test_what_comes_after_may_have_been_it(came: float, lines: list[Any]) -> None:
    """A delivery put on record after it was used: it fills what was short, and the rest is there."""
    posted = [stock("received", 8, 1), *(fitted(9, lot="L-9") for _ in range(3)), stock("received", 10, came)]
    assert left(posted) == lines


def test_it_is_below_since_it_last_fell() -> None:
    """A line that was explained and fell again is below since then."""
    posted = [stock("counted", 8, 0), fitted(9, lot="L-9"), stock("counted", 10, 0), fitted(11, lot="L-9")]
    assert [one.since.hour for one in books(posted).lines] == [11]


def test_it_is_there_since_it_last_came() -> None:
    """A line has been there since something came where nothing was."""
    posted = [stock("received", 8, 2), stock("received", 9, 2), stock("discarded", 10, 3, reason="wet")]
    assert [one.since.hour for one in books(posted).lines] == [8]
    emptied = [stock("discarded", 11, 1, reason="wet"), stock("received", 12, 2)]
    assert [one.since.hour for one in books([*posted, *emptied]).lines] == [12]


def test_the_books_are_opened_by_the_first_word_of_stock() -> None:
    """What was fitted before any stock was told of is taken off nothing, so a site that keeps none has no ledger."""
    assert balances([fitted(6, lot="L-9"), fitted(7), stock("received", 8, 5)]) == [("received", 5, 5)]
    assert balances([fitted(6, lot="L-9")]) == []
    assert balances([fitted(6), stock("discarded", 7, 1, reason="wet")]) == [("discarded", -1, -1)]


def test_without_a_lot_the_oldest_goes_first() -> None:
    """Oldest expiry, no expiry last, of one expiry the lots in their order; the entry says what was assumed."""
    posted = [
        stock("received", 8, 1, lot="L-7"),
        stock("received", 8, 1, lot="L-10", expires="2028-01"),
        stock("received", 8, 1, **NEW),
        stock("received", 8, 1, **OLD),
        stock("discarded", 9, 5, lot=None, reason="wet"),
    ]
    last = books(posted).entries[-1]
    assert [(one.lot, int(one.change), one.assumed) for one in last.shares] == [
        ("L-8", -1, True),
        ("L-9", -1, True),
        ("L-10", -1, True),
        ("L-7", -1, True),
        (None, -1, False),
    ]
    assert (int(last.change), int(last.balance), int(last.short)) == (-5, -1, 1)


def test_a_stated_lot_is_believed() -> None:
    """It comes off its lot, though another expires first; not there, it is short, though there is of another."""
    posted = [
        stock("received", 8, 4, **OLD),
        stock("received", 8, 1, **NEW),
        fitted(9, lot="l-009"),
        fitted(10, lot="L-9"),
    ]
    assert left(posted) == [("L-8", "2027-01", 4), ("L-9", "2028-01", -1)]
    assert books(posted).entries[-1].balance == 3


def test_a_lot_may_be_of_what_came_without_one() -> None:
    """Stock of no lot on record may be of any: nothing is short while there is of it, and what is used up is told."""
    posted = [stock("received", 8, 2, lot=None), fitted(9, lot="L-9")]
    assert left(posted) == [(None, None, 1)]
    assert [(one.lot, one.assumed) for one in books(posted).entries[-1].shares] == [(None, True)]
    assert left([*posted, fitted(10, lot="L-9"), fitted(11, lot="L-9")]) == [("L-9", None, -1)]


def test_what_comes_fills_what_it_may_have_been() -> None:
    """Short of no lot: a delivery of any lot fills it. Short of a lot: one of another does not."""
    empty = stock("counted", 8, 0)
    assert left([empty, fitted(9), stock("received", 10, 3)]) == [("L-9", None, 2)]
    assert left([empty, fitted(9, lot="L-7"), stock("received", 10, 3)]) == [("L-7", None, -1), ("L-9", None, 3)]


def test_a_count_without_a_lot_is_of_all_lots() -> None:
    """What it misses is of the oldest expiry, what it finds beyond is of no lot."""
    posted = [stock("received", 8, 4, **OLD), stock("received", 8, 4, **NEW)]
    fewer, more = ([*posted, stock("counted", 9, found, lot=None)] for found in (3, 9))
    assert left(fewer) == [("L-9", "2028-01", 3)]
    assert left(more) == [("L-8", "2027-01", 4), ("L-9", "2028-01", 4), (None, None, 1)]
    assert books(fewer).entries[-1].expected == 8


def test_what_was_counted_by_name_is_left_out_of_it() -> None:
    """In one stocktaking, whichever came first: of L-8 three, of L-9 two, and five that bear no lot."""
    posted = [stock("received", 6, 4, **OLD), stock("received", 6, 4, **NEW)]
    named = [stock("counted", 10, 3, **OLD), stock("counted", 12, 2, **NEW)]
    for hour in (9, 11, 13):
        found = left([*posted, *named, stock("counted", hour, 5, lot=None)])
        assert found == [("L-8", "2027-01", 3), ("L-9", "2028-01", 2), (None, None, 5)]
    assert left([*posted, named[0], stock("counted", 23, 5, lot=None)]) == [
        ("L-8", "2027-01", 1),
        ("L-9", "2028-01", 4),
    ]


def test_a_lot_found_had_lain_among_what_bore_none() -> None:
    """Forty came without a lot; thirty of them are counted by their lot: forty there are."""
    posted = [stock("received", 8, 40, lot=None), stock("counted", 9, 30)]
    assert balances(posted)[-1] == ("counted", 0, 40)
    assert left(posted) == [("L-9", None, 30), (None, None, 10)]


def test_places_are_counted_each_by_itself() -> None:
    """What came without a place is found in one; what was fitted is missed in the first place that misses it."""
    received = [stock("received", 8, 40), stock("counted", 9, 38, place="store-a")]
    assert balances(received)[-1] == ("counted", 0, 40)
    two = [stock("counted", 8, 10, place="store-a"), stock("counted", 8, 5, place="store-b"), fitted(9), fitted(9)]
    for first, last in ((5, 8), (4, 9)):
        seen = [stock("counted", 10, first, place="store-b"), stock("counted", 11, last, place="store-a")]
        assert balances([*two, *seen])[-2:] == [("counted", 0, 13), ("counted", 0, 13)]
    none_missing = [stock("counted", 10, 5, place="store-b"), stock("counted", 11, 10, place="store-a")]
    assert balances([*two, *none_missing])[-2:] == [("counted", 0, 13), ("counted", 2, 15)]


def test_what_lies_in_the_place_named_goes_before() -> None:
    """Thrown away in store b without a lot: it is of the lot that lies there, though another expires first."""
    posted = [
        stock("received", 8, 4, place="store-a", **OLD),
        stock("received", 8, 4, place="store-b", **NEW),
        stock("discarded", 9, 5, lot=None, place="store-b", reason="wet"),
    ]
    assert left(posted) == [("L-8", "2027-01", 3)]


@pytest.mark.parametrize("unit", ["EA", "each", "c62"])
def test_a_piece_is_a_piece(unit: str) -> None:
    """Words for one piece are one unit, told in the word that came first."""
    found = books([stock("received", 8, 4), stock("received", 9, 1, unit=unit), fitted(10, lot="L-9")])
    assert [(one.unit, int(one.balance)) for one in found.entries] == [("C62", 4), ("C62", 5), ("C62", 4)]


def test_boxes_are_not_pieces() -> None:
    """Boxes have a balance of their own, that no part is taken off; pieces never told of are not short."""
    posted: list[Posted] = [stock("received", 8, 3, unit="box"), fitted(9, lot="L-9")]
    assert [(one.unit, int(one.balance)) for one in books(posted).entries] == [("box", 3)]
    found = books([*posted, stock("received", 10, 8), fitted(11, lot="L-9")])
    assert [(one.unit, int(one.balance)) for one in found.entries] == [("box", 3), ("C62", 8), ("C62", 7)]


def test_a_lot_of_two_expiries_is_two_lines() -> None:
    """Without an expiry the lot is taken from the older, with one from that."""
    posted = [
        stock("received", 8, 2, **NEW),
        stock("received", 8, 2, lot="L-9", expires="2027-06"),
        fitted(9, lot="L-9"),
    ]
    assert left(posted) == [("L-9", "2027-06", 1), ("L-9", "2028-01", 2)]
    assert left([*posted, fitted(10, lot="L-9", expires="2028-01-31")]) == [
        ("L-9", "2027-06", 1),
        ("L-9", "2028-01", 1),
    ]


def test_what_had_expired_is_fitted_last() -> None:
    """Neither is stated: the good one goes, then what has no expiry; the day of expiry itself is a day of use."""
    posted = [
        stock("received", 6, 1, lot="L-6", expires="2026-03-01"),
        stock("received", 6, 1, lot="L-7", expires="2026-03-02"),
        stock("received", 6, 1, **NEW),
        stock("received", 6, 1, lot="L-10"),
    ]
    lots = ["L-6", "L-7", "L-9", "L-10"]
    for nth, gone in enumerate((["L-7"], ["L-7", "L-9"], ["L-7", "L-9", "L-10"], lots), 1):
        there = [lot for lot, _, _ in left([*posted, *(fitted(8 + hour) for hour in range(nth))])]
        assert there == [lot for lot in lots if lot not in gone]


def test_what_had_expired_is_thrown_away_first() -> None:
    """No lot is stated: the oldest is what is thrown away."""
    posted = [stock("received", 6, 2, lot="L-6", expires="2026-01"), stock("received", 6, 2, **NEW)]
    assert left([*posted, stock("discarded", 8, 3, lot=None, reason="expired")]) == [("L-9", "2028-01", 1)]


def test_of_counts_of_one_instant_the_later_of_its_device_counts() -> None:
    """Told of a day alone, twelve and then nine by the counter of the kiosk: nine are there, in whatever order told."""
    counts = [stock("counted", 8, much, device="kiosk-1", device_seq=nth) for nth, much in ((1, 12), (2, 9))]
    for posted in (counts, counts[::-1]):
        assert balances(posted) == [("counted", 12, 12), ("counted", -3, 9)]


def test_the_last_day_of_a_lot_is_that_of_the_site() -> None:
    """Fitted on 31 January of its day, whose end is February in UTC: it comes off the lot that is good to January."""
    told = changes([stock("received", 1, 2, lot="L-8", expires="2026-01"), stock("received", 1, 2, **NEW), fitted(9)])
    fits = [one._replace(at=moment("2026-02-01 00:00"), day=date(2026, 1, 31)) for one in told if one.what == "fitted"]
    there = [one._replace(at=moment("2026-01-05 00:00")) for one in told if one.what != "fitted"]
    assert [(one.lot, int(one.quantity)) for one in account([*there, *fits]).lines] == [("L-8", 1), ("L-9", 2)]
    late = [one._replace(day=date(2026, 2, 1)) for one in fits]
    assert [(one.lot, int(one.quantity)) for one in account([*there, *late]).lines] == [("L-8", 2), ("L-9", 1)]


def test_boxes_counted_by_name_leave_no_pieces_out() -> None:
    """Boxes of a lot are counted by name, then pieces without: those of the lot are among the pieces counted."""
    posted = [stock("received", 8, 5), stock("counted", 9, 2, unit="box"), stock("counted", 10, 4, lot=None)]
    assert balances(posted) == [("received", 5, 5), ("counted", 2, 2), ("counted", -1, 4)]
