"""Stock as it is asked for: levels and uses, at a moment, as known, at some sites."""

from collections.abc import Iterable
from datetime import date, datetime
from typing import Any

from service.assessing.moment import asked
from service.assessing.shelves import Wanted
from service.assessing.stock import Level, Use, levels, uses
from service.ledger import Ledger
from tests.domain.stock.telling import fitted
from tests.domain.stock.telling import stock as of_dock
from tests.oracle.firm import FIRM, register, tell
from tests.oracle.posting import Posted, moment, say
from tests.use.posting import caller_of, post
from tests.use.test_waiting import named

EVERYWHERE = Wanted()


def stock(kind: str, hour: int, quantity: float, **fields: Any) -> Posted:
    """Tell of stock at the dock, in the unit of the firm's items."""
    return of_dock(kind, hour, quantity, **{"unit": "piece"} | fields)


def voiding(nth: int) -> Posted:
    """Take back the so-manieth event of a history."""
    return say("voided", "2026-03-02 20:00", "m-2", event=f"01800000-0000-7000-8000-{500 + nth:012x}", reason="misread")


async def told(ledger: Ledger, posted: Iterable[Posted]) -> None:
    """Post a history at a firm that has one hood."""
    receipts = await post(ledger, named([*FIRM, register()]) + named(list(posted), 500))
    assert {one.status for one in receipts} == {201}


async def found(ledger: Ledger, wanted: Wanted = EVERYWHERE, as_at: str | None = None) -> list[Level]:
    """Give the levels."""
    async with asked(ledger, caller_of("office"), None if as_at is None else moment(as_at)) as question:
        return await levels(question, wanted)


async def known(ledger: Ledger, known_at: datetime) -> list[Level]:
    """Give the levels as they were known."""
    async with asked(ledger, caller_of("office"), known_at=known_at) as question:
        return await levels(question, EVERYWHERE)


async def used(ledger: Ledger, since: date, wanted: Wanted = EVERYWHERE) -> list[Use]:
    """Give what was used."""
    async with asked(ledger, caller_of("office")) as question:
        return await uses(question, wanted, since)


def quantities(found: list[Level]) -> list[tuple[str, str, float]]:
    """Give site, item and quantity of levels."""
    return [(one.site, one.item, one.quantity) for one in found]


HISTORY = [
    stock("received", 8, 40, expires="2028-01"),
    stock("moved", 9, 12, to_site="works"),
    fitted(10, lot="L-9"),
    stock("counted", 11, 30, item="pre", lot=None),
]


async def test_levels_are_told_site_by_site(ledger: Ledger) -> None:
    """Every site and item of which stock was told, or those that are wanted; lots with their last day."""
    await told(ledger, HISTORY)
    everything = await found(ledger)
    assert quantities(everything) == [("dock", "p3", 27), ("dock", "pre", 30), ("works", "p3", 12)]
    assert [(one.lot, one.expires, one.last_day, one.quantity) for one in everything[0].lots] == [
        ("L-9", "2028-01", date(2028, 1, 31), 27)
    ]
    assert (everything[0].unit, everything[0].short, everything[0].counted_at) == ("piece", 0, None)
    assert everything[1].counted_at == moment("2026-03-02 11:00")
    works = Wanted(sites=frozenset({"works"}))
    assert quantities(await found(ledger, works)) == [("works", "p3", 12)]
    assert quantities(await found(ledger, Wanted(item="p3"))) == [("dock", "p3", 27), ("works", "p3", 12)]
    assert await found(ledger, Wanted(sites=frozenset({"works"}), item="pre")) == []


async def test_levels_of_the_past(ledger: Ledger) -> None:
    """As at a moment what had happened by then counts; as known at one, what had been recorded."""
    await told(ledger, HISTORY)
    assert quantities(await found(ledger, as_at="2026-03-02 08:30")) == [("dock", "p3", 40)]
    async with asked(ledger, caller_of("office")) as question:
        before = question.known_at
    await post(ledger, named([stock("counted", 12, 20)], 600))
    assert quantities(await found(ledger))[0] == ("dock", "p3", 20)
    assert quantities(await known(ledger, before))[0] == ("dock", "p3", 27)


async def test_what_was_taken_back_never_happened(ledger: Ledger) -> None:
    """A count that was voided, and a voiding that was."""
    await told(ledger, [stock("received", 8, 40), stock("counted", 9, 4)])
    await post(ledger, named([voiding(1)], 700))
    assert quantities(await found(ledger)) == [("dock", "p3", 40)]
    again = say("voided", "2026-03-02 21:00", "m-2", event=f"01800000-0000-7000-8000-{700:012x}", reason="it was right")
    await post(ledger, named([again], 800))
    assert quantities(await found(ledger)) == [("dock", "p3", 4)]


async def test_uses_are_told_day_by_day(ledger: Ledger) -> None:
    """What was fitted new on a local day of its site (London is ahead in May), and beside it what was thrown away."""
    late = tell("filter-replaced", "2026-05-31 23:30", site="dock", position="particle-filter", reason="loading")
    late.message["in"] = {"item": "p3", "condition": "new"}
    undated = stock("discarded", 8, 3, reason="wet")
    undated.message["occurred_on"] = "2026-03-01"
    del undated.message["occurred_at"]
    await told(ledger, [fitted(9), fitted(10), stock("discarded", 11, 2, reason="wet"), undated, late])
    assert await used(ledger, date(2026, 3, 1)) == [
        Use("dock", "p3", "piece", date(2026, 3, 1), 0, 3),
        Use("dock", "p3", "piece", date(2026, 3, 2), 2, 2),
        Use("dock", "p3", "piece", date(2026, 6, 1), 1, 0),
    ]
    assert await used(ledger, date(2026, 6, 2)) == []
    assert await used(ledger, date(2026, 3, 1), Wanted(sites=frozenset({"works"}))) == []


async def test_a_part_of_a_day_counts_where_its_unit_was_as_that_day_ended(ledger: Ledger) -> None:
    """The hood went to the mesa in the evening, and nobody said where the filter of that day was fitted.

    No other event tells of filters at the mesa: the list finds it all the same.
    """
    nowhere = fitted(9)
    del nowhere.message["site"], nowhere.message["occurred_at"]
    nowhere.message["occurred_on"] = "2026-03-02"
    gone = [tell("moved", "2026-03-02 20:00", to_site="mesa"), tell("received", "2026-03-02 20:30", site="mesa")]
    await told(ledger, [*gone, nowhere])
    assert await used(ledger, date(2026, 3, 1)) == [Use("mesa", "p3", "piece", date(2026, 3, 2), 1, 0)]
    assert await used(ledger, date(2026, 3, 1), Wanted(sites=frozenset({"dock"}))) == []
    assert await used(ledger, date(2026, 3, 1), Wanted(item="pre")) == []


async def test_a_part_of_a_day_is_fitted_as_that_day_ends_at_its_site(ledger: Ledger) -> None:
    """Counted at nine in the evening of the mesa, which is the next day in UTC: the filter of that day came after."""
    nowhere = fitted(9)
    nowhere.message["asset"] = "A-2"
    del nowhere.message["site"], nowhere.message["occurred_at"]
    nowhere.message["occurred_on"] = "2026-03-02"
    counted = say("stock-counted", "2026-03-03 03:00", site="mesa", item="p3", unit="piece", quantity=10)
    await told(ledger, [register(tag="A-2", site="mesa"), counted, nowhere])
    assert quantities(await found(ledger)) == [("mesa", "p3", 9)]
