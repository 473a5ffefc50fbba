from datetime import UTC, datetime
from itertools import pairwise
from uuid import uuid4

import psycopg
import pytest

from service.domain.leaf import Header, leaf_hash
from service.store.append import FreeText, IdTwice, append
from service.store.kin_write import KinTwice
from service.store.scope import writing
from tests.store.making import KEY, NOON, Desk, a_kin, an_entry, appended, minutes, rows


async def test_entry_is_recorded(desk: Desk) -> None:
    """An event about no unit is recorded under seq 1, with the moment of recording."""
    before = datetime.now(UTC)
    [outcome] = await appended(desk, [entry := an_entry()])
    assert (outcome.id, outcome.outcome, outcome.seq) == (entry.id, "recorded", 1)
    assert outcome.recorded_at is not None
    assert outcome.recorded_at > before
    assert await rows(desk, "SELECT last_seq, context_seq FROM ledger.head") == [(1, 0)]


async def test_entries_are_numbered_in_their_order(desk: Desk) -> None:
    """The entries of a call get consecutive numbers in their order, and one moment."""
    outcomes = await appended(desk, [an_entry(), an_entry("FX-1"), an_entry()], [a_kin("FX-1")])
    assert [outcome.seq for outcome in outcomes] == [1, 2, 3]
    assert len({outcome.recorded_at for outcome in outcomes}) == 1


async def test_recorded_at_grows_strictly(desk: Desk) -> None:
    """Each call is recorded later than the one before, however fast they follow."""
    moments = [(await appended(desk, [an_entry()]))[0].recorded_at for _ in range(20)]
    assert all(later > earlier for earlier, later in pairwise(moments) if earlier and later)


async def test_recorded_at_grows_when_the_clock_is_behind(desk: Desk) -> None:
    """With the newest moment ahead of the clock, the next one is a microsecond after it."""
    with psycopg.connect(desk.database.owner_url) as owner:
        owner.execute("SELECT set_config('ledger.organisation', %s, true)", (str(desk.organisation),))
        owner.execute("UPDATE ledger.head SET last_recorded_at = '2100-01-01T00:00:00Z'")
    [outcome] = await appended(desk, [an_entry()])
    assert outcome.recorded_at == datetime(2100, 1, 1, 0, 0, 0, 1, tzinfo=UTC)


async def test_every_column_is_stored(desk: Desk) -> None:
    """What an entry says stands in its row, and the leaf is that of header and body."""
    entry = an_entry(
        "FX-1",
        instant=None,
        on_day=NOON.date(),
        site="harrow-dock",
        device="kiosk-3",
        device_seq=2**40,
        sent_at=minutes(2),
        imported=True,
        conflicts=b'[{"code":"while-retired"}]',
        subjects=(("asset:FX-1", NOON), ("person:p-1", minutes(3)), ("asset:FX-1", NOON)),
        texts=(FreeText(path="remark", key=b"k" * 32, text="hose chafed"),),
    )
    [outcome] = await appended(desk, [entry], [a_kin("FX-1")])
    assert outcome.recorded_at is not None
    header = Header(
        organisation=desk.organisation,
        seq=1,
        recorded_at=outcome.recorded_at,
        received_at=minutes(1),
        sent_at=minutes(2),
        key=KEY,
        kind_version=1,
        imported=True,
    )
    assert await rows(desk, "SELECT * FROM ledger.event") == [
        (
            desk.organisation, 1, entry.id, "cleaned", 1, None, NOON.date(), "p-1", "harrow-dock", "kiosk-3", 2**40,
            minutes(1), outcome.recorded_at, minutes(2), KEY, True, entry.body, leaf_hash(header, entry.body),
            entry.conflicts,
        )
    ]  # fmt: skip
    assert await rows(desk, "SELECT subject, instant, seq FROM ledger.event_subject ORDER BY subject") == [
        ("asset:FX-1", NOON, 1),
        ("person:p-1", minutes(3), 1),
    ]
    assert await rows(desk, "SELECT event, path, key, text FROM ledger.free_text") == [
        (entry.id, "remark", b"k" * 32, "hose chafed")
    ]


async def test_context_event_moves_the_context(desk: Desk) -> None:
    """A context event is named by the head, and stands under the subject of all context events."""
    await appended(desk, [an_entry(), an_entry(context=True), an_entry()])
    assert await rows(desk, "SELECT last_seq, context_seq FROM ledger.head") == [(3, 2)]
    assert await rows(desk, "SELECT seq FROM ledger.event_subject WHERE subject = 'context'") == [(2,)]


async def test_nothing_to_append_is_an_error(desk: Desk) -> None:
    """A call without entries is a mistake of the caller."""
    with pytest.raises(psycopg.errors.InvalidParameterValue):
        await appended(desk, [])


async def test_entry_of_a_kin_that_is_not_written_is_an_error(desk: Desk) -> None:
    """An entry names a kin of its own call."""
    with pytest.raises(KeyError, match="FX-1"):
        await appended(desk, [an_entry("FX-1")])


async def test_kin_written_twice_is_an_error(desk: Desk) -> None:
    """A call writes a kin once."""
    with pytest.raises(KinTwice):
        await appended(desk, [an_entry("FX-1")], [a_kin("FX-1"), a_kin("FX-1")])


async def test_same_id_twice_in_a_call_is_an_error(desk: Desk) -> None:
    """A call records an id once."""
    entry = an_entry()
    with pytest.raises(IdTwice):
        await appended(desk, [entry, entry])


async def test_another_organisation_than_the_settings_is_refused(desk: Desk) -> None:
    """The append writes for the transaction's organisation alone."""
    async with desk.pool.connection() as conn:
        with pytest.raises(psycopg.errors.InsufficientPrivilege):
            async with writing(desk.pool, desk.organisation) as other:
                await append(other, desk.foreign, context_seq=0, entries=[an_entry()])
        with pytest.raises(psycopg.errors.InsufficientPrivilege):
            await append(conn, desk.organisation, context_seq=0, entries=[an_entry()])


async def test_unknown_organisation_is_refused(desk: Desk) -> None:
    """An organisation without a head has no log to append to."""
    nobody = uuid4()
    with pytest.raises(psycopg.errors.InsufficientPrivilege, match="there is no organisation"):
        async with writing(desk.pool, nobody) as conn:
            await append(conn, nobody, context_seq=0, entries=[an_entry()])


async def test_fixed_snapshot_is_refused(desk: Desk) -> None:
    """A transaction that does not see what is committed while it waits must not append."""
    async with desk.pool.connection() as conn:
        await conn.execute("BEGIN ISOLATION LEVEL REPEATABLE READ")
        await conn.execute("SELECT set_config('ledger.organisation', %s, true)", (str(desk.organisation),))
        with pytest.raises(psycopg.errors.ActiveSqlTransaction):
            await append(conn, desk.organisation, context_seq=0, entries=[an_entry()])
        await conn.rollback()
