import msgspec
import pytest

from service.store.errors import StaleContext
from service.store.position import position
from service.store.reject import reject
from service.store.scope import writing
from service.store.settle import settle
from tests.store.making import Desk, a_kin, a_rejection, a_unit, an_entry, appended, minutes, rows, version


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
    [first] = await appended(desk, [entry], [a_kin("FX-1")])
    kins = [a_kin("FX-1", first), a_kin("FX-2")]
    outcomes = await appended(desk, [entry, an_entry("FX-1"), an_entry("FX-2")], kins)
    assert [(outcome.outcome, outcome.seq) for outcome in outcomes] == [("taken", 1), ("stale", None), ("recorded", 2)]
    versions = [("FX-1", version(first)), ("FX-2", version(outcomes[2]))]
    assert await rows(desk, "SELECT kin, version FROM ledger.kin ORDER BY kin") == versions


async def test_kin_at_another_version_is_stale(desk: Desk) -> None:
    """A kin whose version is not the expected one is left alone, and the others of the call are written."""
    await appended(desk, [an_entry("FX-1")], [a_kin("FX-1")])
    kins = [a_kin("FX-1", snapshot=b"wrong"), a_kin("FX-2")]
    outcomes = await appended(desk, [an_entry("FX-1"), an_entry("FX-2")], kins)
    assert [outcome.outcome for outcome in outcomes] == ["stale", "recorded"]
    assert await rows(desk, "SELECT kin, snapshot FROM ledger.kin ORDER BY kin") == [
        ("FX-1", b"snapshot"),
        ("FX-2", b"snapshot"),
    ]


async def test_kin_that_is_gone_is_stale(desk: Desk) -> None:
    """A version expected of a kin that does not exist is stale, and leaves no row behind."""
    [other] = await appended(desk, [an_entry()])
    [outcome] = await appended(desk, [an_entry("FX-1")], [a_kin("FX-1", other)])
    assert outcome.outcome == "stale"
    assert await rows(desk, "SELECT * FROM ledger.kin") == []


async def test_new_kin_that_is_stale_leaves_no_row(desk: Desk) -> None:
    """A new kin that is not written after all leaves no empty row behind."""
    await appended(desk, [entry := an_entry("FX-1")], [a_kin("FX-1")])
    outcomes = await appended(desk, [msgspec.structs.replace(entry, kin="FX-2")], [a_kin("FX-2")])
    assert [outcome.outcome for outcome in outcomes] == ["taken"]
    assert await rows(desk, "SELECT kin FROM ledger.kin") == [("FX-1",)]


async def test_version_is_the_moment_of_the_call(desk: Desk) -> None:
    """Every kin of a call has the call's moment as its version afterwards, which is what the next write expects."""
    kins = [a_kin("FX-1"), a_kin("FX-2")]
    [first, *_] = await appended(desk, [an_entry("FX-1"), an_entry("FX-2"), an_entry()], kins)
    assert await rows(desk, "SELECT DISTINCT version FROM ledger.kin") == [(version(first),)]
    [outcome] = await appended(desk, [an_entry("FX-1")], [a_kin("FX-1", first)])
    assert (outcome.outcome, outcome.seq) == ("recorded", 4)


async def test_kin_owed_to_others_is_written_with_them(desk: Desk) -> None:
    """A kin without an entry of its own is written when all entries are recorded."""
    [first] = await appended(desk, [an_entry("FX-2")], [a_kin("FX-2")])
    await appended(desk, [an_entry("FX-1")], [a_kin("FX-1"), a_kin("FX-2", first, snapshot=b"refolded")])
    assert await rows(desk, "SELECT snapshot FROM ledger.kin WHERE kin = 'FX-2'") == [(b"refolded",)]


async def test_stale_kin_owed_to_others_makes_all_stale(desk: Desk) -> None:
    """When a kin that others' events change is stale, nothing of the call is recorded."""
    await appended(desk, [an_entry("FX-2")], [a_kin("FX-2")])
    outcomes = await appended(desk, [an_entry("FX-1"), an_entry()], [a_kin("FX-1"), a_kin("FX-2")])
    assert [outcome.outcome for outcome in outcomes] == ["stale", "stale"]
    assert await rows(desk, "SELECT last_seq FROM ledger.head") == [(1,)]
    assert await rows(desk, "SELECT kin FROM ledger.kin") == [("FX-2",)]


async def test_stale_kin_beside_a_context_event_makes_all_stale(desk: Desk) -> None:
    """A context event is not recorded while a kin of the call cannot be judged by it."""
    await appended(desk, [an_entry("FX-1")], [a_kin("FX-1")])
    outcomes = await appended(desk, [an_entry(context=True), an_entry("FX-1")], [a_kin("FX-1")])
    assert [outcome.outcome for outcome in outcomes] == ["stale", "stale"]


async def test_kin_that_hangs_on_what_changes_must_be_written(desk: Desk) -> None:
    """A call that changes a reference must write every kin that asked for it."""
    [first] = await appended(desk, [an_entry("FX-1")], [a_kin("FX-1")])
    with pytest.raises(StaleContext) as refused:
        await appended(desk, [an_entry(context=True)], refs=["site:harrow-dock"])
    assert refused.value.reason == "dependents"
    [outcome] = await appended(desk, [an_entry(context=True)], [a_kin("FX-1", first)], refs=["site:harrow-dock"])
    assert outcome.outcome == "recorded"


async def test_device_that_spoke_against_its_counter_since_is_stale(desk: Desk) -> None:
    """A decision that compared a device's counter loses to one of that device whose number and clock disagree."""
    await appended(desk, [an_entry(device="kiosk-3", device_seq=5, instant=minutes(5))], known_seq=0)
    for number, minute in ((4, 6), (6, 4)):
        across = an_entry(device="kiosk-3", device_seq=number, instant=minutes(minute))
        with pytest.raises(StaleContext) as refused:
            await appended(desk, [across], known_seq=0)
        assert refused.value.reason == "device"
    agreeing = [an_entry(device="kiosk-3", device_seq=number, instant=minutes(number)) for number in (4, 6)]
    assert [one.outcome for one in await appended(desk, agreeing, known_seq=0)] == ["recorded", "recorded"]
    other = an_entry(device="kiosk-4", device_seq=4, instant=minutes(6))
    assert [one.outcome for one in await appended(desk, [other], known_seq=0)] == ["recorded"]
    known = an_entry(device="kiosk-3", device_seq=3, instant=minutes(7))
    assert [one.outcome for one in await appended(desk, [known], known_seq=4)] == ["recorded"]


async def test_failure_reported_since_is_stale(desk: Desk) -> None:
    """A unit that is written without knowing the newest report about it is decided again."""
    [first] = await appended(desk, [an_entry()])
    assert first.recorded_at is not None
    async with writing(desk.pool, desk.organisation) as conn:
        kept = await reject(conn, desk.organisation, a_rejection(tag="FX-1"))
    assert kept.id is not None
    new = ([an_entry("FX-1")], [a_kin("FX-1")])
    with pytest.raises(StaleContext) as refused:
        await appended(desk, *new, known_at=first.recorded_at)
    assert refused.value.reason == "reports"
    [other] = await appended(desk, [an_entry("FX-2")], [a_kin("FX-2")], known_at=first.recorded_at)
    assert other.outcome == "recorded"
    async with writing(desk.pool, desk.organisation) as conn:
        before = (await position(conn, desk.organisation)).head_recorded_at
        assert await settle(conn, desk.organisation, kept.id, state="dismissed", key=None, reason="another unit")
    with pytest.raises(StaleContext):
        await appended(desk, *new, known_at=before)
    async with writing(desk.pool, desk.organisation) as conn:
        now = (await position(conn, desk.organisation)).head_recorded_at
    [outcome] = await appended(desk, *new, known_at=now)
    assert outcome.outcome == "recorded"


async def test_kins_become_one(desk: Desk) -> None:
    """A kin that another absorbs goes, and its tags and units are the other's."""
    [one] = await appended(desk, [an_entry("FX-1")], [a_kin("FX-1")])
    [two] = await appended(desk, [an_entry("FX-2")], [a_kin("FX-2")])
    unit = msgspec.structs.replace(a_unit("FX-1"), tag="FX-2")
    merged = a_kin("FX-1", one, tags=("FX-1", "FX-2"), absorbed=(("FX-2", version(two)),), units=(unit,))
    await appended(desk, [an_entry("FX-1")], [merged])
    assert await rows(desk, "SELECT kin FROM ledger.kin") == [("FX-1",)]
    assert await rows(desk, "SELECT tag, kin FROM ledger.kinship ORDER BY tag") == [("FX-1", "FX-1"), ("FX-2", "FX-1")]
    assert await rows(desk, "SELECT tag, kin FROM ledger.unit") == [("FX-2", "FX-1")]
    assert await rows(desk, "SELECT DISTINCT kin FROM ledger.dependency") == [("FX-1",)]
    assert await rows(desk, "SELECT count(*) FROM ledger.standing_interval") == [(1,)]


async def test_absorbed_kin_at_another_version_is_stale(desk: Desk) -> None:
    """A merger that did not know the absorbed kin's newest state is decided again."""
    [one] = await appended(desk, [an_entry("FX-1")], [a_kin("FX-1")])
    [two] = await appended(desk, [an_entry("FX-2")], [a_kin("FX-2")])
    await appended(desk, [an_entry("FX-2")], [a_kin("FX-2", two)])
    merged = a_kin("FX-1", one, absorbed=(("FX-2", version(two)),))
    [outcome] = await appended(desk, [an_entry("FX-1")], [merged])
    assert outcome.outcome == "stale"


async def test_tag_of_another_kin_is_stale(desk: Desk) -> None:
    """A kin cannot take a tag that belongs to another one by now."""
    await appended(desk, [an_entry("FX-1")], [a_kin("FX-1", tags=("FX-1", "FX-2"))])
    [outcome] = await appended(desk, [an_entry("FX-2")], [a_kin("FX-2")])
    assert outcome.outcome == "stale"
    assert await rows(desk, "SELECT kin FROM ledger.kin") == [("FX-1",)]
