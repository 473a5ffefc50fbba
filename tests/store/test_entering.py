from datetime import timedelta
from uuid import uuid4

import psycopg
import pytest

from service.store.append import append
from service.store.enter import entering
from service.store.errors import StaleContext
from service.store.position import NoOrganisation, position
from service.store.reject import reject
from service.store.scope import writing
from tests.store.making import KEY, NOON, Desk, a_rejection, an_entry, appended, rows

WAITED_FOR = "asset:FX-0001"


async def test_transaction_begins_with_where_the_log_stands(desk: Desk) -> None:
    """Entering names the organisation, and says what a position would say."""
    [outcome] = await appended(desk, [an_entry(context=True)])
    async with entering(desk.pool, desk.organisation, [], NOON) as (conn, begun):
        where = await position(conn, desk.organisation)
    assert (begun.head_seq, begun.head_recorded_at, begun.context_seq) == (1, outcome.recorded_at, 1)
    assert (where.head_seq, where.head_recorded_at, where.context_seq) == (1, outcome.recorded_at, 1)
    assert begun.now <= where.now
    assert (begun.ended, begun.anything_waits) == ([], False)


async def test_transaction_begins_with_the_keys_that_have_ended(desk: Desk) -> None:
    """A key that was revoked, or whose time has come, has ended; another and one that is not there have not."""
    revoked, over, lasting = uuid4(), uuid4(), uuid4()
    with psycopg.connect(desk.database.owner_url) as owner:
        owner.execute("SELECT set_config('ledger.organisation', %s, true)", (str(desk.organisation),))
        for number, (key, expires, ends) in enumerate(
            [(revoked, None, NOON), (over, NOON, None), (lasting, NOON + timedelta(seconds=1), None)]
        ):
            owner.execute(
                "INSERT INTO ledger.api_key"
                " (organisation, id, name, role, secret_hash, created_at, expires_at, revoked_at)"
                " VALUES (%s, %s, 'a', 'manager', sha256(%s), now(), %s, %s)",
                (desk.organisation, key, key.bytes + bytes([number]), expires, ends),
            )
    async with entering(desk.pool, desk.organisation, [revoked, over, lasting, KEY], NOON) as (_, begun):
        assert set(begun.ended) == {revoked, over}


async def test_nobody_enters_what_is_not_there(desk: Desk) -> None:
    """There is no transaction of an organisation that there is not."""
    with pytest.raises(NoOrganisation):
        async with entering(desk.pool, uuid4(), [], NOON):
            pass


async def test_transaction_begins_with_whether_any_message_waits(desk: Desk) -> None:
    """A kept message that waits for something is seen; one that does not is none."""
    async with writing(desk.pool, desk.organisation) as conn:
        await reject(conn, desk.organisation, a_rejection(waiting_for=(), body=b"{}"), room=True)
    async with entering(desk.pool, desk.organisation, [], NOON) as (_, begun):
        assert not begun.anything_waits
    async with writing(desk.pool, desk.organisation) as conn:
        await reject(conn, desk.organisation, a_rejection(waiting_for=(WAITED_FOR,)), room=True)
    async with entering(desk.pool, desk.organisation, [], NOON) as (_, begun):
        assert begun.anything_waits


@pytest.mark.parametrize(("supplied", "stale"), [(WAITED_FOR, True), ("asset:FX-0002", False)])
async def test_append_sees_who_came_to_wait_for_it(desk: Desk, supplied: str, stale: bool) -> None:
    """What a message began to wait for after it was looked for is not recorded past it: all is decided again."""
    await appended(desk, [an_entry()])
    async with entering(desk.pool, desk.organisation, [], NOON) as (_, begun):
        pass
    async with writing(desk.pool, desk.organisation) as conn:
        await reject(conn, desk.organisation, a_rejection(waiting_for=(WAITED_FOR,), adverse=False), room=True)
    entry = an_entry(supplies=(supplied,))
    if stale:
        with pytest.raises(StaleContext, match="waiting"):
            await appended(desk, [entry], known_at=begun.head_recorded_at)
    else:
        await appended(desk, [entry], known_at=begun.head_recorded_at)
    assert len(await rows(desk, "SELECT seq FROM ledger.event")) == (1 if stale else 2)


async def test_append_says_what_was_refused_before(desk: Desk) -> None:
    """An event that an open message names is recorded with a sign of it, any other without."""
    once, never = an_entry(), an_entry()
    async with writing(desk.pool, desk.organisation) as conn:
        await reject(conn, desk.organisation, a_rejection(event=once.id), room=True)
        outcomes = await append(conn, desk.organisation, context_seq=0, entries=[once, never])
    assert [outcome.refused for outcome in outcomes] == [True, False]
