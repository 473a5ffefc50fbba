"""Under what an event is filed, so that the stock of a site is found."""

import pytest

from service.domain.stock.traces import shelves
from tests.domain.stock.telling import fitted, read, stock
from tests.oracle.firm import register
from tests.oracle.posting import Posted


def nowhere() -> Posted:
    """Put a filter in, and name no site."""
    told = fitted(9)
    del told.message["site"]
    return told


@pytest.mark.parametrize(
    ("told", "found"),
    [
        (stock("received", 8, 4), ["shelf:dock:p3"]),
        (stock("counted", 8, 4, item="pre"), ["shelf:dock:pre"]),
        (stock("discarded", 8, 4, reason="wet"), ["shelf:dock:p3"]),
        (stock("moved", 8, 4, to_site="works"), ["shelf:dock:p3", "shelf:works:p3"]),
        (fitted(9), ["fitted:dock:p3"]),
        (fitted(9, "repaired"), ["fitted:dock:p3"]),
        (fitted(9, condition="refitted"), []),
        (nowhere(), ["adrift:p3"]),
        (register(parts=[{"position": "battery", "part": {"item": "cell", "condition": "new"}}]), []),
    ],
)
def test_stock_and_new_parts_are_filed_by_site_and_item(told: Posted, found: list[str]) -> None:
    """Stock at the site, and where it was moved to; a part fitted new where that was said to be; no other part."""
    [(_, event)] = read([told])
    assert list(shelves(event)) == found
