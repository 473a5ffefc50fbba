"""What a count says of each line that it may speak of."""

from tests.domain.stock.telling import balances, books, fitted, left, stock

OLD = {"lot": "L-8", "expires": "2027-01"}
NEW = {"lot": "L-9", "expires": "2028-01"}


def test_what_was_counted_by_name_leaves_the_other_lots_to_the_count_of_the_rest() -> None:
    """Of L-8 three by name; two without a lot are of L-9, or of the other expiry of the same lot."""
    named = stock("counted", 10, 3, **OLD)
    for other in (NEW, {"lot": "L-8", "expires": "2028-01"}):
        posted = [stock("received", 8, 4, **OLD), stock("received", 8, 4, **other), named]
        counted = stock("counted", 11, 2, lot=None)
        assert left([*posted, counted]) == [("L-8", "2027-01", 3), (other["lot"], "2028-01", 2)]
    posted = [stock("received", 8, 4, lot=lot) for lot in ("L-8", "L-9")]
    counts = [stock("counted", 10, 3, lot="L-8"), stock("counted", 11, 2, lot=None)]
    assert left([*posted, *counts]) == [("L-8", None, 3), ("L-9", None, 2)]


def test_a_count_finds_there_what_had_no_place() -> None:
    """Six in store a are its four and two of the four that came without a place: four in store b are two too many."""
    posted = [
        stock("received", 8, 4, **OLD),
        stock("received", 8, 4, place="store-a", **NEW),
        stock("counted", 9, 6, lot=None, place="store-a"),
    ]
    assert balances(posted)[-1] == ("counted", 0, 8)
    assert balances([*posted, stock("counted", 10, 4, lot=None, place="store-b")])[-1] == ("counted", 2, 10)


def test_a_count_of_nothing_explains_what_was_short() -> None:
    """Without a lot it is of every line below nothing."""
    posted = [stock("received", 8, 1), fitted(9, lot="L-9"), fitted(9, lot="L-9"), stock("counted", 10, 0, lot=None)]
    assert left(posted) == []


def test_what_a_count_finds_was_first_its_own_without_a_place() -> None:
    """Five in store a: three of the lot had no place, so two had lain among what bore none."""
    posted = [stock("received", 8, 3), stock("received", 8, 10, lot=None), stock("counted", 9, 5, place="store-a")]
    assert left(posted) == [("L-9", None, 5), (None, None, 8)]


def test_one_found_had_lain_among_what_bore_none() -> None:
    """One of forty."""
    assert left([stock("received", 8, 40, lot=None), stock("counted", 9, 1)]) == [("L-9", None, 1), (None, None, 39)]


def test_what_was_found_comes_off_what_bore_none_once() -> None:
    """Three found: two are of what expires first, one of what has no expiry."""
    posted = [stock("received", 8, 2, lot=None, expires="2027-01"), stock("received", 8, 5, lot=None)]
    assert left([*posted, stock("counted", 9, 3)]) == [("L-9", None, 3), (None, None, 4)]


def test_a_lot_of_which_none_is_found_says_nothing_of_what_bears_none() -> None:
    """Ten lie in two stores, one was taken: store b has its five, and so has store a in the end; so none is gone."""
    posted = [
        *(stock("received", 7, 5, lot=None, place=place) for place in ("store-a", "store-b")),
        stock("discarded", 8, 1, lot=None, reason="wet"),
        stock("counted", 9, 5, lot=None, place="store-b"),
        stock("counted", 10, 0),
        stock("counted", 11, 5, lot=None, place="store-a"),
    ]
    assert left(posted) == [(None, None, 10)]


def test_what_was_taken_from_no_place_is_first_missed_where_is_counted() -> None:
    """Store a has four of L-8 and four of L-9, store b four of L-9, of which one was fitted: seven are none amiss.

    Eight say that it was not from here, ten that two more are here, of no lot.
    """
    posted = [
        stock("received", 8, 4, place="store-a", **OLD),
        *(stock("received", 8, 4, place=place, **NEW) for place in ("store-a", "store-b")),
        fitted(9, **NEW),
    ]
    for found, lines in (
        (7, [("L-8", "2027-01", 4), ("L-9", "2028-01", 7)]),
        (8, [("L-8", "2027-01", 4), ("L-9", "2028-01", 7)]),
        (10, [("L-8", "2027-01", 4), ("L-9", "2028-01", 7), (None, None, 2)]),
    ):
        assert left([*posted, stock("counted", 10, found, lot=None, place="store-a")]) == lines


def test_what_is_as_expected_bears_no_share() -> None:
    """A count that finds what there should be changes no line, and its entry names none."""
    last = books([stock("received", 8, 4), stock("counted", 9, 4)]).entries[-1]
    assert last.change == 0
    assert last.shares == ()


def test_counts_of_nothing_in_every_place_leave_nothing() -> None:
    """One lies in each of two stores, and one was thrown away, from either: neither has any, by whatever count."""
    lying = [stock("received", 8, 1, place=place) for place in ("store-a", "store-b")]
    posted = [*lying, stock("discarded", 9, 1, reason="wet")]
    for lot in ("L-9", None):
        counts = [stock("counted", hour, 0, lot=lot, place=place) for hour, place in ((10, "store-a"), (11, "store-b"))]
        assert left([*posted, *counts]) == []


def test_a_count_of_nothing_is_no_word_on_what_lay_elsewhere() -> None:
    """Four of L-9 lie in store a: a count of store b, or of what is left of it nowhere, tells no line of them."""
    here = stock("received", 8, 4, place="store-a")
    gone = stock("discarded", 9, 4, place="store-a", reason="wet")
    for posted, place in (([here], "store-b"), ([here, gone, stock("received", 9, 1)], "store-a")):
        told = books([*posted, stock("counted", 10, 0, lot=None, place=place)]).entries[-1]
        assert (told.what, told.shares) == ("counted", ())
