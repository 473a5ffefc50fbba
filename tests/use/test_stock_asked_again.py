"""What tells of the stock of a recalled lot: asked again it is not decoded again, and what came since is told."""

from service.assessing.moment import asked
from service.assessing.recalls import impact
from service.domain.kinds.recall_opened import Criterion
from service.domain.recall.opening import supposed
from service.ledger import Ledger
from service.store.events_between_subjects import SHORT, kept
from tests.oracle.firm import FIRM, register
from tests.oracle.posting import Posted, say
from tests.use.posting import caller_of, post
from tests.use.test_waiting import named

OFFICE = caller_of("office")


def counted(at: str, quantity: float) -> Posted:
    """Count a lot at the dock."""
    return say("stock-counted", at, "store", site="dock", item="p3", lot="L-9", unit="C62", quantity=quantity)


async def test_what_tells_of_stock_is_decoded_once(ledger: Ledger) -> None:
    """An event never changes; one that comes is told beside those that are known."""

    async def told() -> list[float]:
        async with asked(ledger, OFFICE) as question:
            found = await impact(question, [supposed((Criterion(item="p3", lot="L-9"),), question.as_at)], None)
            return [one.quantity for one in found.stock]

    kept.cache_clear()
    await post(ledger, named([*FIRM, counted("2026-03-02 08:00", 7), counted("2026-03-03 08:00", 4)], 600))
    before = kept.cache_info()
    assert await told() == [4]
    first = kept.cache_info()
    assert await told() == [4]
    again = kept.cache_info()
    await post(ledger, named([counted("2026-03-04 08:00", 3)], 900))
    assert await told() == [3]
    last = kept.cache_info()
    assert [after.misses - now.misses for now, after in ((before, first), (first, again), (again, last))] == [2, 0, 1]


async def test_what_is_long_is_not_kept(ledger: Ledger) -> None:
    """A registration that names many parts is read with what tells of a lot, and a hundred parts are no trifle."""
    kept.cache_clear()
    parts = [
        {"position": f"spare-{nth}", "part": {"item": "p3", "lot": "L-9", "serial": f"P-{nth}", "condition": "new"}}
        for nth in range(10)
    ]
    assert len(str(parts)) > SHORT
    registered = register("2026-02-20 08:00", received="2026-02-20 08:00", parts=parts)
    await post(ledger, named([*FIRM, registered, counted("2026-03-02 08:00", 7)], 600))
    async with asked(ledger, OFFICE) as question:
        found = await impact(question, [supposed((Criterion(item="p3", lot="L-9"),), question.as_at)], None)
    assert [one.quantity for one in found.stock] == [7]
    assert kept.cache_info().currsize == 1
