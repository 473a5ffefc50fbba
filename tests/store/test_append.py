from datetime import UTC, datetime
from itertools import pairwise
from uuid import uuid4

import msgspec
import psycopg
import pytest

from service.domain.leaf import Header, leaf_hash
from service.store.append import FreeText, IdTwice, append
from service.store.errors import StaleContext
from service.store.kin_write import KinTwice
from service.store.scope import writing
from tests.store.making import KEY, NOON, Desk, a_kin, a_unit, an_entry, appended, minutes, rows


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


async def test_stale_context_writes_nothing(desk: Desk) -> None:
    """Decisions that did not know the newest context event are refused as a whole."""
    await appended(desk, [an_entry(context=True)])
    with pytest.raises(StaleContext) as refused:
        await appended(desk, [an_entry("FX-1")], [a_kin("FX-1")], context_seq=0)
    assert refused.value.reason == "context"
    assert await rows(desk, "SELECT last_seq FROM ledger.head") == [(1,)]
    assert await rows(desk, "SELECT * FROM ledger.kin") == []
    [outcome] = await appended(desk, [an_entry("FX-1")], [a_kin("FX-1")], context_seq=1)
    assert outcome.outcome == "recorded"


async def test_taken_id_is_answered_with_what_took_it(desk: Desk) -> None:
    """An id that is in the log is taken: seq and moment are those of the event that has it."""
    entry = an_entry()
    [first] = await appended(desk, [entry])
    second, other = await appended(desk, [entry, an_entry()])
    assert (second.outcome, second.seq, second.recorded_at) == ("taken", 1, first.recorded_at)
    assert (other.outcome, other.seq) == ("recorded", 2)


async def test_taken_id_makes_its_kin_stale(desk: Desk) -> None:
    """The other entries of a kin were decided without the taken one: they are stale, those of other kins are not."""
    entry = an_entry("FX-1")
    await appended(desk, [entry], [a_kin("FX-1")])
    outcomes = await appended(desk, [entry, an_entry("FX-1"), an_entry("FX-2")], [a_kin("FX-1", 1), a_kin("FX-2")])
    assert [(outcome.outcome, outcome.seq) for outcome in outcomes] == [("taken", 1), ("stale", None), ("recorded", 2)]
    assert await rows(desk, "SELECT kin, version FROM ledger.kin ORDER BY kin") == [("FX-1", 1), ("FX-2", 2)]


async def test_kin_at_another_version_is_stale(desk: Desk) -> None:
    """A kin whose version is not the expected one is left alone, and the others of the call are written."""
    await appended(desk, [an_entry("FX-1")], [a_kin("FX-1")])
    outcomes = await appended(
        desk,
        [an_entry("FX-1"), an_entry("FX-2")],
        [a_kin("FX-1", 0, snapshot=b"wrong"), a_kin("FX-2")],
    )
    assert [outcome.outcome for outcome in outcomes] == ["stale", "recorded"]
    assert await rows(desk, "SELECT kin, version, snapshot FROM ledger.kin ORDER BY kin") == [
        ("FX-1", 1, b"snapshot"),
        ("FX-2", 2, b"snapshot"),
    ]


async def test_kin_that_is_gone_is_stale(desk: Desk) -> None:
    """A version expected of a kin that does not exist is stale, and leaves no row behind."""
    [outcome] = await appended(desk, [an_entry("FX-1")], [a_kin("FX-1", 7)])
    assert outcome.outcome == "stale"
    assert await rows(desk, "SELECT * FROM ledger.kin") == []


async def test_new_kin_that_is_stale_leaves_no_row(desk: Desk) -> None:
    """A new kin that is not written after all leaves no empty row behind."""
    await appended(desk, [entry := an_entry("FX-1")], [a_kin("FX-1")])
    outcomes = await appended(desk, [msgspec.structs.replace(entry, kin="FX-2")], [a_kin("FX-2")])
    assert [outcome.outcome for outcome in outcomes] == ["taken"]
    assert await rows(desk, "SELECT kin FROM ledger.kin") == [("FX-1",)]


async def test_version_is_the_largest_seq_of_the_call(desk: Desk) -> None:
    """Every kin of a call is at the call's last seq afterwards, which is what the next write expects."""
    await appended(desk, [an_entry("FX-1"), an_entry("FX-2"), an_entry()], [a_kin("FX-1"), a_kin("FX-2")])
    assert await rows(desk, "SELECT DISTINCT version FROM ledger.kin") == [(3,)]
    [outcome] = await appended(desk, [an_entry("FX-1")], [a_kin("FX-1", 3)])
    assert (outcome.outcome, outcome.seq) == ("recorded", 4)


async def test_kin_owed_to_others_is_written_with_them(desk: Desk) -> None:
    """A kin without an entry of its own is written when all entries are recorded."""
    await appended(desk, [an_entry("FX-2")], [a_kin("FX-2")])
    await appended(desk, [an_entry("FX-1")], [a_kin("FX-1"), a_kin("FX-2", 1, snapshot=b"refolded")])
    assert await rows(desk, "SELECT version, snapshot FROM ledger.kin WHERE kin = 'FX-2'") == [(2, b"refolded")]


async def test_stale_kin_owed_to_others_makes_all_stale(desk: Desk) -> None:
    """When a kin that others' events change is stale, nothing of the call is recorded."""
    await appended(desk, [an_entry("FX-2")], [a_kin("FX-2")])
    outcomes = await appended(desk, [an_entry("FX-1"), an_entry()], [a_kin("FX-1"), a_kin("FX-2", 0)])
    assert [outcome.outcome for outcome in outcomes] == ["stale", "stale"]
    assert await rows(desk, "SELECT last_seq FROM ledger.head") == [(1,)]
    assert await rows(desk, "SELECT kin FROM ledger.kin") == [("FX-2",)]


async def test_stale_kin_beside_a_context_event_makes_all_stale(desk: Desk) -> None:
    """A context event is not recorded while a kin of the call cannot be judged by it."""
    await appended(desk, [an_entry("FX-1")], [a_kin("FX-1")])
    outcomes = await appended(desk, [an_entry(context=True), an_entry("FX-1")], [a_kin("FX-1", 0)])
    assert [outcome.outcome for outcome in outcomes] == ["stale", "stale"]


async def test_kin_that_hangs_on_what_changes_must_be_written(desk: Desk) -> None:
    """A call that changes a reference must write every kin that asked for it."""
    await appended(desk, [an_entry("FX-1")], [a_kin("FX-1")])
    with pytest.raises(StaleContext) as refused:
        await appended(desk, [an_entry(context=True)], refs=["site:harrow-dock"])
    assert refused.value.reason == "dependents"
    [outcome] = await appended(desk, [an_entry(context=True)], [a_kin("FX-1", 1)], refs=["site:harrow-dock"])
    assert outcome.outcome == "recorded"


async def test_device_heard_since_is_stale(desk: Desk) -> None:
    """A counted event of a device that was compared with less than is known is decided again."""
    entry = an_entry(device="kiosk-3", device_seq=1)
    await appended(desk, [entry], known_seq=0)
    with pytest.raises(StaleContext) as refused:
        await appended(desk, [an_entry(device="kiosk-3", device_seq=2)], known_seq=0)
    assert refused.value.reason == "device"
    [other] = await appended(desk, [an_entry(device="kiosk-4", device_seq=2)], known_seq=0)
    assert other.outcome == "recorded"
    [again] = await appended(desk, [an_entry(device="kiosk-3", device_seq=2)], known_seq=2)
    assert again.outcome == "recorded"


async def test_kins_become_one(desk: Desk) -> None:
    """A kin that another absorbs goes, and its tags and units are the other's."""
    await appended(desk, [an_entry("FX-1")], [a_kin("FX-1")])
    await appended(desk, [an_entry("FX-2")], [a_kin("FX-2")])
    merged = a_kin(
        "FX-1",
        1,
        tags=("FX-1", "FX-2"),
        absorbed=(("FX-2", 2),),
        units=(msgspec.structs.replace(a_unit("FX-1"), tag="FX-2"),),
    )
    await appended(desk, [an_entry("FX-1")], [merged])
    assert await rows(desk, "SELECT kin, version FROM ledger.kin") == [("FX-1", 3)]
    assert await rows(desk, "SELECT tag, kin FROM ledger.kinship ORDER BY tag") == [("FX-1", "FX-1"), ("FX-2", "FX-1")]
    assert await rows(desk, "SELECT tag, kin FROM ledger.unit") == [("FX-2", "FX-1")]
    assert await rows(desk, "SELECT DISTINCT kin FROM ledger.dependency") == [("FX-1",)]
    assert await rows(desk, "SELECT count(*) FROM ledger.standing_interval") == [(1,)]


async def test_absorbed_kin_at_another_version_is_stale(desk: Desk) -> None:
    """A merger that did not know the absorbed kin's newest state is decided again."""
    await appended(desk, [an_entry("FX-1")], [a_kin("FX-1")])
    await appended(desk, [an_entry("FX-2")], [a_kin("FX-2")])
    [outcome] = await appended(desk, [an_entry("FX-1")], [a_kin("FX-1", 1, absorbed=(("FX-2", 1),))])
    assert outcome.outcome == "stale"


async def test_tag_of_another_kin_is_stale(desk: Desk) -> None:
    """A kin cannot take a tag that belongs to another one by now."""
    await appended(desk, [an_entry("FX-1")], [a_kin("FX-1", tags=("FX-1", "FX-2"))])
    [outcome] = await appended(desk, [an_entry("FX-2")], [a_kin("FX-2")])
    assert outcome.outcome == "stale"
    assert await rows(desk, "SELECT kin FROM ledger.kin") == [("FX-1",)]


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
