"""What tells stock apart, as it is compared."""

from itertools import permutations

from service.domain.stock.lines import Line, line_of, with_expiries
from tests.domain.stock.telling import changes, stock


def test_what_was_not_said_is_an_empty_text() -> None:
    """A lot is compared by its place among lots, an expiry by its last day, a piece as one."""
    units = ["each", "EA", "H87", "C62"]
    bare = changes(stock("received", 8, 1, lot=None, unit=unit) for unit in units)
    assert [line_of(one) for one in bare] == [Line("dock", "p3", "", "", "C62")] * len(units)
    [full] = changes([stock("received", 8, 1, expires="2027-02")])
    assert line_of(full) == Line("dock", "p3", "L-00019", "2027-02-28", "C62")


def test_a_lot_has_its_one_expiry_wherever_none_is_said() -> None:
    """A month and its last day are one expiry, told as the month in whatever order they came; two are none."""
    month, last_day = stock("received", 8, 1, expires="2027-01"), stock("received", 8, 2, expires="2027-01-31")
    bare, other = stock("received", 8, 3), stock("received", 8, 4, expires="2028-01")
    for told in permutations([month, last_day, bare]):
        found = {int(one.quantity): one.expires for one in with_expiries(changes(told))}
        assert found == {1: "2027-01", 2: "2027-01-31", 3: "2027-01"}
    assert [one.expires for one in with_expiries(changes([bare, month, other]))] == [None, "2027-01", "2028-01"]
