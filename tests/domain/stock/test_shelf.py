"""How much there is of one line, place by place."""

from decimal import Decimal

from service.domain.stock.as_said import as_said
from service.domain.stock.keeping import Kept, keep
from service.domain.stock.lines import Line
from service.domain.stock.shelf import Shelf, count, total
from tests.domain.stock.telling import changes, stock
from tests.oracle import stock as oracle
from tests.oracle.posting import Posted

ONE, TWO, THREE, FIVE = map(Decimal, (1, 2, 3, 5))


def test_what_a_count_does_not_explain_comes_off_what_has_no_place() -> None:
    """Three were taken from nowhere: of two without a place they are two, and the third is forgotten, and told so."""
    shelf = Shelf(placed={"store-a": FIVE}, loose=TWO, owed=THREE)
    left = Shelf(placed={"store-a": FIVE, "store-b": Decimal(0)}, counted=frozenset({"store-b"}))
    assert count(shelf, "store-b", Decimal(0)) == (left, ONE)


def for_a_recall(*posted: Posted) -> list[Decimal]:
    """Give what may be left of each line, by the cautious reading."""
    lines = dict[Line, Kept]()
    for _ in keep(changes(posted), as_said(), lines):
        pass
    return [total(kept.shelf) for kept in lines.values()]


def test_for_a_recall_what_was_taken_is_gone_and_no_more() -> None:
    """Two of five are left; of those two four cannot go, so that a box that comes then is there whole."""
    taken = [stock("received", 8, 5), stock("discarded", 9, 3, reason="wet")]
    beyond = stock("discarded", 10, 4, reason="wet")
    assert for_a_recall(*taken) == [2]
    assert for_a_recall(*taken, beyond) == [0]
    assert for_a_recall(*taken, beyond, stock("received", 11, 6)) == [6]


def test_for_a_recall_an_emptied_shelf_is_remembered() -> None:
    """Three lay in store a and three were taken, from nowhere in particular; five came, and store b has seven.

    So the five are there, and what was taken may have been of what was never on record: ten may be there, by hand and
    by the oracle's definition.
    """
    told = [
        stock("counted", 8, 3, place="store-a"),
        stock("discarded", 9, 3, reason="wet"),
        stock("received", 10, 5),
        stock("counted", 11, 7, place="store-b"),
    ]
    assert for_a_recall(*told) == [10]
    defined = oracle.Line({})
    for step, place, much in (("count", "store-a", 3), ("take", "", 3), ("put", "", 5), ("count", "store-b", 7)):
        defined.tell(step, place, much)
    assert defined.left() == 10
