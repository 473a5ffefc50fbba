"""Every line of stock, as a process remembers it: always what a process that remembers nothing finds."""

from datetime import datetime

from service.assessing.moment import asked
from service.assessing.shelves import Shelf, Wanted
from service.assessing.stock_lines import every_line
from service.ledger import Ledger
from tests.domain.stock.telling import fitted
from tests.oracle.firm import FIRM, defined, register
from tests.oracle.posting import Posted, moment, say
from tests.use.posting import ORGANISATION, caller_of, post
from tests.use.test_stock import stock
from tests.use.test_waiting import named

OFFICE = caller_of("office")
Found = list[tuple[str, str, float]]


async def lines(ledger: Ledger, as_at: datetime | None = None, known_at: datetime | None = None) -> Found:
    """Give site, item and quantity of every line."""
    async with asked(ledger, OFFICE, as_at, known_at) as question:
        found = await every_line(question, Wanted())
    return [(shelf.site, shelf.item, float(line.quantity)) for shelf, line in sorted(found, key=str)]


def forgetful(ledger: Ledger) -> Ledger:
    """Give a process that remembers nothing yet."""
    return Ledger(pool=ledger.pool, clock=ledger.clock)


def taking_back(event: int) -> Posted:
    """Take an event back by its number."""
    return say("voided", "2026-03-02 20:00", "m-2", event=f"01800000-0000-7000-8000-{event:012x}", reason="misread")


STEPS: list[tuple[Posted, Found]] = [
    (stock("received", 8, 4), [("dock", "p3", 4)]),
    (stock("received", 8, 5, item="pre"), [("dock", "p3", 4), ("dock", "pre", 5)]),
    (fitted(9), [("dock", "p3", 3), ("dock", "pre", 5)]),
    (stock("moved", 10, 2, to_site="works"), [("dock", "p3", 1), ("dock", "pre", 5), ("works", "p3", 2)]),
    (taking_back(0x202), [("dock", "p3", 2), ("dock", "pre", 5), ("works", "p3", 2)]),
    (taking_back(0x204), [("dock", "p3", 1), ("dock", "pre", 5), ("works", "p3", 2)]),
    (defined("item-defined", "2026-03-02 21:00", item="p3", name="p3", unit="box"),
     [("dock", "p3", 2), ("dock", "pre", 5), ("works", "p3", 2)]),
    (stock("discarded", 11, 6, item="pre", reason="wet"),
     [("dock", "p3", 2), ("dock", "pre", -1), ("works", "p3", 2)]),
]  # fmt: skip
"""What is posted one after another, and what there is then; the ids count from 512."""


async def test_what_is_remembered_is_what_there_is(ledger: Ledger) -> None:
    """After each event, also one that takes back another or a voiding, at this moment, an earlier one, and as known."""
    await post(ledger, named([*FIRM, register()]))
    known: list[tuple[datetime, Found]] = []
    for nth, (posted, expected) in enumerate(STEPS):
        assert {one.status for one in await post(ledger, named([posted], 512 + nth))} == {201}
        assert await lines(ledger) == expected == await lines(forgetful(ledger))
        at = moment("2026-03-02 09:30")
        assert await lines(ledger, at) == await lines(forgetful(ledger), at)
        async with asked(ledger, OFFICE) as question:
            known.append((question.known_at, expected))
    for known_at, expected in known:
        assert await lines(ledger, known_at=known_at) == expected


async def test_what_was_not_touched_is_not_folded_again(ledger: Ledger) -> None:
    """Of two items one is counted: the other is remembered from before."""
    await post(ledger, named([*FIRM, register()]))
    await post(ledger, named([stock("received", 8, 4), stock("received", 8, 5, item="pre")], 512))
    await lines(ledger)
    [receipt] = await post(ledger, named([stock("counted", 9, 3)], 600))
    await lines(ledger)
    async with asked(ledger, OFFICE) as question:
        folded = (await ledger.memory.known(question.conn, ORGANISATION, 0)).shelves.folded

    assert {shelf: one.seq == receipt.seq for shelf, one in folded.items()} == {
        Shelf("dock", "p3"): True,
        Shelf("dock", "pre"): False,
    }


async def test_an_expiry_told_elsewhere_is_learnt(ledger: Ledger) -> None:
    """A lot was moved to the works, and there its line was remembered; then the dock tells when the lot expires."""
    await post(ledger, named([*FIRM, register()]))
    moved = [stock("received", 8, 4), stock("moved", 10, 2, to_site="works")]
    await post(ledger, named(moved, 512))
    assert await expiries(ledger) == {"dock": {None}, "works": {None}}
    await post(ledger, named([stock("received", 11, 3, expires="2027-01")], 600))
    assert await expiries(ledger) == {"dock": {"2027-01"}, "works": {"2027-01"}}


async def expiries(ledger: Ledger) -> dict[str, set[str | None]]:
    """Give the expiries of the lines of each site."""
    async with asked(ledger, OFFICE) as question:
        found = await every_line(question, Wanted())
    return {site: {line.expires for shelf, line in found if shelf.site == site} for site in ("dock", "works")}


async def test_parts_fitted_nobody_said_where_count_where_their_unit_was(ledger: Ledger) -> None:
    """The hood is at the dock: a filter without a site comes off there; so it does where it was remembered before."""
    await post(ledger, named([*FIRM, register()]))
    await post(ledger, named([stock("received", 8, 4), stock("received", 8, 4, site="works")], 512))
    assert await lines(ledger) == [("dock", "p3", 4), ("works", "p3", 4)]
    nowhere = fitted(9)
    del nowhere.message["site"]
    await post(ledger, named([nowhere], 600))
    assert await lines(ledger) == [("dock", "p3", 3), ("works", "p3", 4)] == await lines(forgetful(ledger))
    await post(ledger, named([taking_back(600)], 601))
    assert await lines(ledger) == [("dock", "p3", 4), ("works", "p3", 4)] == await lines(forgetful(ledger))
