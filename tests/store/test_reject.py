from datetime import UTC, datetime
from uuid import UUID, uuid4

import psycopg
import pytest

from service.store.append import append
from service.store.failure_reports import FailureReport, failure_reports
from service.store.messages_waiting_for import messages_waiting_for
from service.store.position import reading
from service.store.reject import Rejection, reject
from service.store.rejected_message import rejected_message
from service.store.rejected_messages import RejectedMessage, State, rejected_messages
from service.store.scope import writing
from service.store.settle import settle
from tests.store.making import KEY, Desk, a_rejection, an_entry, appended, minutes, rows


async def rejected(desk: Desk, rejection: Rejection) -> UUID:
    """Keep a message in a transaction of its own."""
    async with writing(desk.pool, desk.organisation) as conn:
        found = await reject(conn, desk.organisation, rejection)
    assert found.id is not None
    return found.id


async def kept(desk: Desk, id_: UUID) -> RejectedMessage:
    """Give a message that is kept."""
    async with writing(desk.pool, desk.organisation) as conn:
        found = await rejected_message(conn, desk.organisation, id_)
    assert found is not None
    return found


async def reports(desk: Desk, known_at: datetime, tags: list[str] | None = None) -> list[FailureReport]:
    """Give the reports known at a moment."""
    async with writing(desk.pool, desk.organisation) as conn:
        return await failure_reports(conn, desk.organisation, known_at=known_at, tags=tags)


async def test_message_is_kept_whole(desk: Desk) -> None:
    """What came, from whom, and what was told stands in the message."""
    event = uuid4()
    id_ = await rejected(desk, a_rejection(event=event, sent_at=minutes(0), imported=True))
    found = await kept(desk, id_)
    assert found == RejectedMessage(
        id=id_,
        key=KEY,
        role="site-app",
        sites=["harrow-dock"],
        received_at=minutes(1),
        last_received_at=minutes(1),
        recorded_at=found.recorded_at,
        sent_at=minutes(0),
        imported=True,
        count=1,
        body=b'{"kind":"failed-check"}',
        fields=None,
        kept="whole",
        event=event,
        kind="failed-check",
        tag="FX-0001",
        site="harrow-dock",
        adverse=True,
        status=422,
        problem=b'{"code":"malformed","detail":"no such field here"}',
        waiting_for=["asset:FX-0001"],
        state="open",
        settled_at=None,
        settled_by=None,
        settled_key=None,
        reason=None,
        accepted_seq=None,
    )


async def test_same_body_by_the_same_key_is_counted(desk: Desk) -> None:
    """A message that comes again is the one kept before: counted, with the newest problem and the first receipt.

    What waits goes on waiting, whatever else it is refused for.
    """
    first = await rejected(desk, a_rejection())
    again = await rejected(desk, a_rejection(received_at=minutes(9), status=409, problem=b"[]", waiting_for=()))
    assert again == first
    found = await kept(desk, first)
    assert (found.count, found.received_at, found.last_received_at) == (2, minutes(1), minutes(9))
    assert (found.status, found.problem, found.waiting_for) == (409, b"[]", ["asset:FX-0001"])
    assert await rows(desk, "SELECT count(*) FROM ledger.failure_report") == [(1,)]


@pytest.mark.parametrize("changes", [{"body": b"{}"}, {"key": UUID(int=7)}])
async def test_another_body_or_key_is_another_message(desk: Desk, changes: dict[str, object]) -> None:
    """Only the same body by the same key is the same message."""
    assert await rejected(desk, a_rejection()) != await rejected(desk, a_rejection(**changes))


async def test_settled_message_is_counted_but_not_opened(desk: Desk) -> None:
    """A message that comes again after it was dismissed stays dismissed, as it was told then."""
    id_ = await rejected(desk, a_rejection())
    await settled(desk, id_, "dismissed")
    assert await rejected(desk, a_rejection(status=409)) == id_
    found = await kept(desk, id_)
    assert (found.state, found.count, found.status) == ("dismissed", 2, 422)


async def settled(desk: Desk, id_: UUID, state: State, **rest: object) -> bool:
    """Settle a message in a transaction of its own."""
    assert state != "open"
    about = {"key": KEY, "by": "p-9", "reason": "unit scrapped"} | rest
    async with writing(desk.pool, desk.organisation) as conn:
        return await settle(conn, desk.organisation, id_, state=state, **about)  # type: ignore[arg-type] # fields by name


async def test_report_of_a_failure_is_a_row_of_its_own(desk: Desk) -> None:
    """An adverse message that names a tag is a report: known from its recording, received at its receipt."""
    id_ = await rejected(desk, a_rejection(sent_at=minutes(0)))
    found = await kept(desk, id_)
    expected = FailureReport(
        id=id_,
        tag="FX-0001",
        key=KEY,
        received_at=minutes(1),
        recorded_at=found.recorded_at,
        sent_at=minutes(0),
        settled_at=None,
        settled_by=None,
        settled_key=None,
        accepted_seq=None,
    )
    assert await reports(desk, found.recorded_at) == [expected]
    assert await reports(desk, found.recorded_at, ["FX-0001"]) == [expected]
    assert await reports(desk, found.recorded_at, ["FX-0002"]) == []
    assert await reports(desk, datetime(2026, 1, 1, tzinfo=UTC)) == []


@pytest.mark.parametrize("changes", [{"adverse": False}, {"tag": None}])
async def test_other_messages_are_no_reports(desk: Desk, changes: dict[str, object]) -> None:
    """Good news, and bad news about no unit, is kept but reports no failure."""
    await rejected(desk, a_rejection(**changes))
    assert await rows(desk, "SELECT count(*) FROM ledger.rejected_message") == [(1,)]
    assert await rows(desk, "SELECT count(*) FROM ledger.failure_report") == [(0,)]


async def test_dismissal_settles_the_report(desk: Desk) -> None:
    """A dismissed message ends its report, by whom and when; before that moment the report was open."""
    id_ = await rejected(desk, a_rejection())
    assert await settled(desk, id_, "dismissed")
    found = await kept(desk, id_)
    assert (found.state, found.settled_by, found.settled_key, found.reason) == (
        "dismissed", "p-9", KEY, "unit scrapped",
    )  # fmt: skip
    assert found.settled_at is not None
    [now] = await reports(desk, found.settled_at)
    assert (now.settled_at, now.settled_by, now.settled_key) == (found.settled_at, "p-9", KEY)
    [before] = await reports(desk, found.recorded_at)
    assert (before.settled_at, before.settled_by, before.settled_key) == (None, None, None)


async def test_acceptance_ends_the_report_with_its_event(desk: Desk) -> None:
    """A message that is accepted after all ends at the moment its event is recorded, from its seq."""
    id_ = await rejected(desk, a_rejection())
    async with writing(desk.pool, desk.organisation) as conn:
        [outcome] = await append(conn, desk.organisation, context_seq=0, entries=[an_entry()])
        assert await settle(conn, desk.organisation, id_, state="accepted", key=None, accepted_seq=outcome.seq)
    assert outcome.recorded_at is not None
    [report] = await reports(desk, outcome.recorded_at)
    assert (report.settled_at, report.accepted_seq) == (outcome.recorded_at, 1)
    assert (await kept(desk, id_)).state == "accepted"


async def test_message_is_settled_once(desk: Desk) -> None:
    """A settled message is not settled again, nor one that does not exist."""
    id_ = await rejected(desk, a_rejection())
    assert await settled(desk, id_, "dismissed")
    assert not await settled(desk, id_, "dismissed")
    assert not await settled(desk, uuid4(), "dismissed")


@pytest.mark.parametrize(
    ("state", "rest", "constraint"),
    [
        ("dismissed", {"reason": None}, "rejected_message_dismissed_with_reason"),
        ("accepted", {"accepted_seq": None}, "rejected_message_accepted"),
    ],
)
async def test_settlement_says_how(desk: Desk, state: State, rest: dict[str, object], constraint: str) -> None:
    """A dismissal has a reason, an acceptance an event."""
    id_ = await rejected(desk, a_rejection())
    with pytest.raises(psycopg.errors.CheckViolation) as refused:
        await settled(desk, id_, state, **rest)
    assert refused.value.diag.constraint_name == constraint


async def test_rejection_has_its_place_among_the_moments(desk: Desk) -> None:
    """Rejections and settlements are later than what was recorded before them, and no position is before them."""
    [first] = await appended(desk, [an_entry()])
    id_ = await rejected(desk, a_rejection())
    await settled(desk, id_, "dismissed")
    [last] = await appended(desk, [an_entry()])
    found = await kept(desk, id_)
    assert first.recorded_at is not None
    assert found.settled_at is not None
    assert last.recorded_at is not None
    assert first.recorded_at < found.recorded_at < found.settled_at < last.recorded_at
    assert (first.seq, last.seq) == (1, 2)
    async with reading(desk.pool, desk.organisation) as (_, where):
        assert where.now >= last.recorded_at


async def listed(desk: Desk, **wanted: object) -> list[UUID]:
    """List the ids of messages."""
    question = {"state": None, "sites": None, "before": None, "limit": 10} | wanted
    async with writing(desk.pool, desk.organisation) as conn:
        return [found.id for found in await rejected_messages(conn, desk.organisation, **question)]  # type: ignore[arg-type] # fields by name


async def test_messages_are_listed_newest_first(desk: Desk) -> None:
    """The list turns pages by moment and id, and can be narrowed to a state and to sites."""
    ids = [await rejected(desk, a_rejection(body=bytes([number]))) for number in range(3)]
    elsewhere = await rejected(desk, a_rejection(body=b"3", site="other-site"))
    await settled(desk, ids[1], "dismissed")
    assert await listed(desk) == [elsewhere, ids[2], ids[1], ids[0]]
    assert await listed(desk, limit=1) == [elsewhere]
    third = await kept(desk, ids[2])
    assert await listed(desk, before=(third.recorded_at, third.id)) == [ids[1], ids[0]]
    assert await listed(desk, state="open", sites=["harrow-dock"]) == [ids[2], ids[0]]
    assert await listed(desk, sites=[]) == []


async def test_waiting_messages_are_found_by_what_they_wait_for(desk: Desk) -> None:
    """A reference that arrives finds the open messages that wait for it, in the order they came."""
    ids = [await rejected(desk, a_rejection(body=bytes([number]))) for number in range(3)]
    await rejected(desk, a_rejection(body=b"3", waiting_for=("site:other-site",)))
    await rejected(desk, a_rejection(body=b"4", waiting_for=()))
    await settled(desk, ids[1], "dismissed")
    async with writing(desk.pool, desk.organisation) as conn:
        found = await messages_waiting_for(conn, desk.organisation, ["asset:FX-0001", "model:m-1"])
    assert [message.id for message in found] == [ids[0], ids[2]]


async def test_foreign_organisation_is_refused(desk: Desk) -> None:
    """Messages are kept and settled for the transaction's organisation alone."""
    id_ = await rejected(desk, a_rejection())
    with pytest.raises(psycopg.errors.InsufficientPrivilege):
        async with writing(desk.pool, desk.organisation) as conn:
            await reject(conn, desk.foreign, a_rejection())
    with pytest.raises(psycopg.errors.InsufficientPrivilege):
        async with writing(desk.pool, desk.foreign) as conn:
            await settle(conn, desk.organisation, id_, state="dismissed", key=KEY, reason="mistake")


async def test_keeping_many_messages_reads_few(desk: Desk) -> None:
    """In a table of which the database knew nothing the six hundredth message is kept with few reads, too.

    Until something is known of the table, each looks at all there are: of 600 that would be 180,000 reads. Nobody else
    looks at the table meanwhile, which would have ours pass by.
    """
    with psycopg.connect(desk.database.owner_url, autocommit=True) as owner:
        owner.execute("ALTER TABLE ledger.rejected_message SET (autovacuum_enabled = false)")
    read = "SELECT idx_tup_fetch + seq_tup_read FROM pg_stat_xact_user_tables WHERE relname = 'rejected_message'"
    async with writing(desk.pool, desk.organisation) as conn:
        for number in range(600):
            await reject(conn, desk.organisation, a_rejection(body=b"%d" % number, adverse=False))
        row = await (await conn.execute(read)).fetchone()
    assert row is not None
    assert row[0] < 30_000
