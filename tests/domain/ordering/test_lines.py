"""What has come of what was ordered."""

from datetime import date
from typing import Any
from uuid import UUID

from service.domain.kinds.stock_received import StockReceived
from service.domain.ordering.lines import Line, delivered, is_for


def ordered(quantity: float | None, line: str | None = "10", **fields: Any) -> Line:
    """Order filters for the dock."""
    given: dict[str, Any] = {"site": "dock", "item": "pf", "unit": "C62", "ordered": quantity, "line": line}
    return Line(**given | fields)


def came(quantity: float, **fields: Any) -> StockReceived:
    """Receive filters at the dock."""
    given: dict[str, Any] = {
        "id": UUID(int=1),
        "occurred_on": date(2026, 3, 6),
        "by": "p-1",
        "site": "dock",
        "item": "pf",
        "unit": "C62",
    }
    return StockReceived(quantity=quantity, **given | fields)


def left(lines: list[Line], *receipts: StockReceived) -> list[float]:
    """Give what is outstanding of each line."""
    return [line.outstanding for line in delivered(lines, receipts)]


def test_a_receipt_belongs_to_the_line_that_it_names() -> None:
    """Those that name one are taken first, whichever came first."""
    lines = [ordered(10), ordered(10, "20")]
    assert left(lines, came(4), came(10, line="10")) == [0, 6]


def test_without_a_line_the_item_tells() -> None:
    """The lines of its item are filled one after the other; another item's stay."""
    lines = [ordered(10), ordered(10, "20"), ordered(10, "30", item="bat")]
    assert left(lines, came(12)) == [0, 8, 10]
    assert left(lines, came(12, line="99")) == [0, 8, 10]


def test_a_line_of_another_item_is_not_what_came() -> None:
    """Batteries sent under the number of the filters' line are none of the filters."""
    lines = [ordered(10), ordered(10, "20", item="bat")]
    assert left(lines, came(10, item="bat", line="10")) == [10, 0]


def test_of_one_order_for_two_sites_each_has_what_came_there() -> None:
    """What came to a site that ordered none is nobody's, unless it names the line."""
    lines = [ordered(10), ordered(10, "20", site="yard")]
    assert left(lines, came(7, site="yard")) == [10, 3]
    assert left(lines, came(12, site="port")) == [10, 10]
    assert left(lines, came(7, site="port", line="20")) == [10, 3]


def test_of_two_lines_of_one_name_that_of_the_site_is_meant() -> None:
    """Two sites' orders under one number may each have a line 1; what comes at another site fills the first."""
    lines = [ordered(10), ordered(10, site="yard")]
    assert left(lines, came(7, site="yard", line="10")) == [10, 3]
    assert left(lines, came(4, line="10"), came(7, site="yard", line="10")) == [6, 3]
    assert left(lines, came(12, site="port", line="10")) == [0, 8]


def test_quantities_of_another_unit_fill_nothing() -> None:
    """Nobody said how many a box holds; pieces are pieces however they are written."""
    assert left([ordered(10)], came(2, unit="BX"), came(3, unit="each")) == [7]


def test_what_came_beyond_the_order_is_told_and_nothing_is_outstanding() -> None:
    """Three times a tenth is all of three tenths."""
    (line,) = delivered([ordered(10)], [came(8), came(4)])
    assert (line.received, line.outstanding) == (12, 0)
    assert left([ordered(0.3)], came(0.1), came(0.1), came(0.1)) == [0]


def test_a_line_is_for_its_site_or_for_what_names_it() -> None:
    """What names no line names none that has no name either."""
    line, bare = ordered(10), ordered(10, None)
    assert [is_for(line, came(1, **said)) for said in ({}, {"site": "yard"})] == [True, False]
    assert [is_for(line, came(1, site="yard", line=said)) for said in ("10", "20")] == [True, False]
    assert not is_for(bare, came(1, site="yard"))
    assert left([bare], came(4, site="yard")) == [10]
