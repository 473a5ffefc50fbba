from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import UTC, datetime

from service import assess
from service.assessing.moment import asked
from service.assessing.places import Places
from service.assessing.spoken_of import kins_spoken_of
from service.domain.caller import Caller
from service.domain.kinds.recall_opened import Criterion
from service.domain.recall.opening import supposed
from service.ledger import Ledger
from service.record import record
from service.store.connecting import make_pool
from tests.bench.firm import made_firm, made_key
from tests.bench.scale.bulk import load
from tests.bench.scale.live import checks
from tests.bench.scale.shape import Shape, just_now
from tests.bench.touching import Touched, touching
from tests.databases.clone import Database, Template, cloned
from tests.http.doors import OURS

UNITS, SITES, POSTS = 50, 8, 40
FEW, MANY = 1_500, 15_000


@contextmanager
def two_sizes(template: Template) -> Iterator[tuple[Database, Database]]:
    """Give two databases."""
    with cloned(template) as one, cloned(template) as other:
        yield one, other


async def touched(database: Database, events: int) -> tuple[Touched, ...]:
    """Load so many events of the same units; give what single posts touch, the summary of all sites, and a search."""
    shape = Shape(events=events, units=UNITS, sites=SITES, until=just_now(), long=0)
    await made_firm(database.owner_url)
    key = await made_key(database.owner_url)
    await load(database.owner_url, shape, (OURS, key))
    caller = Caller(organisation=OURS, key=key, role="administrator")
    async with make_pool(database.app_url, 2) as pool:
        ledger = Ledger(pool=pool, clock=lambda: datetime.now(UTC))
        await post(ledger, caller, shape, seed="before")
        async with touching(pool, 2) as posts:
            await post(ledger, caller, shape, seed="counted")
        await summed(ledger, caller)
        async with touching(pool, 2) as summary:
            await summed(ledger, caller)
        await searched(ledger, caller)
        async with touching(pool, 2) as search:
            await searched(ledger, caller)
    return posts, summary, search


async def post(ledger: Ledger, caller: Caller, shape: Shape, seed: str) -> None:
    """Post checks one by one."""
    for body in checks(shape, POSTS, seed):
        now = datetime.now(UTC)
        receipts = await record(ledger, caller, [body], received_at=now, sent_at=now)
        assert [receipt.status for receipt in receipts] == [201]


async def summed(ledger: Ledger, caller: Caller) -> None:
    """Ask for the summary of all sites now."""
    summary = await assess.compliance(ledger, caller, as_at=None, known_at=None, places=Places())
    assert summary["next"] is None


async def searched(ledger: Ledger, caller: Caller) -> None:
    """Look for the units that a recall of serial numbers speaks of."""
    async with asked(ledger, caller) as question:
        every = Criterion(serial_from="SN-1000000", serial_to="SN-9999999")
        assert len(await kins_spoken_of(question, [supposed((every,), question.as_at)])) == UNITS


async def test_ten_times_the_log_is_not_ten_times_the_work(
    template: Template, record_property: Callable[[str, object], None]
) -> None:
    """A post, the summary and a search of the same units touch hardly more of a log that is ten times as long."""
    with two_sizes(template) as (one, other):
        few, many = await touched(one, FEW), await touched(other, MANY)
    for what, less, more in zip(("a post", "the summary", "a search"), few, many, strict=True):
        told = f"pages {less.pages} {more.pages}, rows {less.rows} {more.rows}"
        record_property("told", f"growth: {what} of {FEW:,} and of {MANY:,} events: {told}")
        assert less.pages > 0
        assert less.statements == more.statements
        assert more.pages <= 1.5 * less.pages, told
        assert more.rows <= 1.5 * less.rows, told
