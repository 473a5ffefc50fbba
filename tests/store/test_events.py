from datetime import timedelta
from typing import Any
from uuid import UUID, uuid4

import msgspec

from service.domain.recorded import Recorded
from service.store.append import CONTEXT, FreeText
from service.store.context_events import context_events
from service.store.contradicted_after import contradicted_after
from service.store.device_contradictions import device_contradictions
from service.store.event_by_id import event_by_id
from service.store.events_by_ids import events_by_ids
from service.store.events_of_subjects import events_of_subjects
from service.store.feed import feed
from service.store.position import reading
from service.store.scope import writing
from service.store.seq_known_at import seq_known_at
from service.store.texts_of_events import texts_of_events
from service.store.write_subjects import write_subjects
from tests.store.making import KEY, NOON, Desk, a_kin, an_entry, appended, minutes, rows


def seqs(found: list[Recorded]) -> list[int]:
    """Give the numbers of events."""
    return [recorded.seq for recorded in found]


async def test_event_is_read_as_it_was_recorded(desk: Desk) -> None:
    """An event comes back with its content, what the service added, its body and its conflicts."""
    entry = an_entry("FX-1", sent_at=minutes(2), imported=True, conflicts=b'[{"code":"while-retired"}]')
    [outcome] = await appended(desk, [entry], [a_kin("FX-1")])
    async with writing(desk.pool, desk.organisation) as conn:
        stored = await event_by_id(conn, desk.organisation, entry.id)
        assert await event_by_id(conn, desk.organisation, uuid4()) is None
    assert stored is not None
    assert stored.body == entry.body
    assert stored.conflicts == entry.conflicts
    recorded = stored.recorded
    assert (recorded.event.id, recorded.event.kind, recorded.event.occurred_at) == (entry.id, "cleaned", NOON)
    assert (recorded.organisation, recorded.seq, recorded.recorded_at) == (desk.organisation, 1, outcome.recorded_at)
    assert (recorded.received_at, recorded.sent_at, recorded.key, recorded.imported) == (
        minutes(1), minutes(2), KEY, True,
    )  # fmt: skip


async def test_events_are_found_by_ids(desk: Desk) -> None:
    """Of the events asked for those that exist come back."""
    entries = [an_entry() for _ in range(4)]
    await appended(desk, entries)
    async with writing(desk.pool, desk.organisation) as conn:
        by_id = await events_by_ids(conn, desk.organisation, [entries[2].id, uuid4(), entries[0].id])
    assert {id_: stored.recorded.seq for id_, stored in by_id.items()} == {entries[0].id: 1, entries[2].id: 3}


async def test_feed_is_a_window_on_the_numbers(desk: Desk) -> None:
    """The feed gives what lies past `after`, at most `limit`, and nothing past `until`."""
    await appended(desk, [an_entry() for _ in range(5)])
    async with writing(desk.pool, desk.organisation) as conn:

        async def page(**window: Any) -> list[int]:
            return [stored.recorded.seq for stored in await feed(conn, desk.organisation, **window)]

        assert await page(after=0, limit=10) == [1, 2, 3, 4, 5]
        assert await page(after=2, limit=2) == [3, 4]
        assert await page(after=2, limit=10, until=4) == [3, 4]
        assert await page(after=5, limit=10) == []


async def test_events_are_filed_under_their_subjects(desk: Desk) -> None:
    """A subject finds its events by number, from a moment of their order on, up to what was known."""
    person = "person:p-1"
    await appended(desk, [an_entry(subjects=((person, minutes(number)),)) for number in (30, 10, 20)])
    await appended(desk, [an_entry(subjects=(("person:p-2", NOON), (person, minutes(5)), (person, minutes(40))))])
    async with writing(desk.pool, desk.organisation) as conn:

        async def found(*subjects: str, **window: Any) -> list[int]:
            return seqs(await events_of_subjects(conn, desk.organisation, subjects, **window))

        assert await found(person) == [1, 2, 3, 4]
        assert await found("person:p-2", "person:p-3") == [4]
        assert await found(person, since=minutes(20)) == [1, 3, 4]
        assert await found(person, until_seq=2) == [1, 2]
        assert await found() == []


async def test_context_events_are_those_that_say_so(desk: Desk) -> None:
    """Context events are read in order, past what is known already."""
    await appended(desk, [an_entry(context=True), an_entry(), an_entry(context=True)])
    await appended(desk, [an_entry(context=True)], context_seq=3)
    async with writing(desk.pool, desk.organisation) as conn:
        assert seqs(await context_events(conn, desk.organisation)) == [1, 3, 4]
        assert seqs(await context_events(conn, desk.organisation, after=1, until_seq=3)) == [3]


async def test_subjects_can_be_written_again(desk: Desk) -> None:
    """An event can be filed anew, and the others stay where they are."""
    await appended(desk, [an_entry(subjects=(("item:a", NOON),)), an_entry(subjects=(("item:a", NOON),))])
    async with writing(desk.pool, desk.organisation) as conn:
        again = (("item:b", NOON), (CONTEXT, minutes(1)), ("item:b", NOON))
        await write_subjects(conn, desk.organisation, {1: again})
    assert await rows(desk, "SELECT seq, subject, instant FROM ledger.event_subject ORDER BY seq, subject") == [
        (1, "context", minutes(1)),
        (1, "item:b", NOON),
        (2, "item:a", NOON),
    ]


async def test_texts_are_read_by_event(desk: Desk) -> None:
    """Free text is found by the event it belongs to."""
    texts = (FreeText(path="remark", key=b"k", text="dusty"), FreeText(path="action", key=b"l", text="wiped"))
    entry = an_entry(texts=texts)
    await appended(desk, [entry, plain := an_entry()])
    async with writing(desk.pool, desk.organisation) as conn:
        found = await texts_of_events(conn, desk.organisation, [entry.id, plain.id])
    assert found == {entry.id: [texts[1], texts[0]]}


async def test_known_at_is_the_largest_number_recorded_by_then(desk: Desk) -> None:
    """What was known at a moment is found for every moment of the log, before its first and after its last."""
    outcomes = [outcome for _ in range(7) for outcome in await appended(desk, [an_entry(), an_entry()])]
    moments = [outcome.recorded_at for outcome in outcomes if outcome.recorded_at is not None]
    tick = timedelta(microseconds=1)
    async with writing(desk.pool, desk.organisation) as conn:
        for number in range(7):
            assert await seq_known_at(conn, desk.organisation, moments[2 * number]) == 2 * number + 2
            assert await seq_known_at(conn, desk.organisation, moments[2 * number] - tick) == 2 * number
        assert await seq_known_at(conn, desk.organisation, moments[-1] + tick) == 14
    async with reading(desk.pool, desk.foreign) as (conn, _):
        assert await seq_known_at(conn, desk.foreign, moments[-1]) == 0


def counted(device_seq: int, minute: int, **changes: Any) -> Any:
    """Make an entry of the kiosk with its own number and its clock's minute."""
    body = an_entry().body.replace(b"12:00:00Z", f"12:{minute:02d}:00Z".encode())
    id_ = uuid4()
    body = body.replace(b'"id":"' + body.split(b'"id":"')[1][:36], b'"id":"' + str(id_).encode())
    made = an_entry(id=id_, device="kiosk-3", device_seq=device_seq, instant=minutes(minute), body=body)
    return msgspec.structs.replace(made, **changes)


async def test_device_contradicts_by_order_of_its_numbers(desk: Desk) -> None:
    """A lower number with a later clock, or a higher with an earlier, contradicts when known and beyond tolerance."""
    await appended(desk, [counted(10, 10), counted(20, 20), counted(30, 30)])
    async with writing(desk.pool, desk.organisation) as conn:

        async def contradicted(device_seq: int, minute: int, known_seq: int = 3, device: str = "kiosk-3") -> bool:
            return await device_contradictions(
                conn,
                desk.organisation,
                device=device,
                device_seq=device_seq,
                instant=minutes(minute),
                tolerance=timedelta(minutes=5),
                known_seq=known_seq,
            )

        assert not await contradicted(25, 25)
        assert not await contradicted(25, 15)
        assert await contradicted(25, 14)
        assert not await contradicted(25, 35)
        assert await contradicted(25, 36)
        assert not await contradicted(25, 36, known_seq=2)
        assert not await contradicted(20, 20)
        assert not await contradicted(25, 14, device="kiosk-4")


async def test_bad_news_that_a_later_event_contradicts_is_found(desk: Desk) -> None:
    """Of what is filed as bad news of a device, that comes back which a later event stands the other way round to."""
    filed = (("adverse:kiosk-3", NOON),)
    await appended(desk, [counted(10, 10, subjects=filed), counted(20, 20, subjects=filed), counted(5, 5)])
    await appended(desk, [counted(15, 9)])
    async with writing(desk.pool, desk.organisation) as conn:
        assert seqs(await contradicted_after(conn, desk.organisation, 3)) == [1]
        assert await contradicted_after(conn, desk.organisation, 4) == []


async def test_foreign_events_are_not_read(desk: Desk) -> None:
    """Another organisation's events are not found, by whatever way."""
    entry = an_entry(subjects=(("item:a", NOON),))
    await appended(desk, [entry])
    async with writing(desk.pool, desk.foreign) as conn:
        for organisation in (desk.organisation, desk.foreign):
            await nothing_found(conn, organisation, entry.id)


async def nothing_found(conn: Any, organisation: UUID, id_: UUID) -> None:
    """See no event of the organisation."""
    assert await event_by_id(conn, organisation, id_) is None
    assert await events_by_ids(conn, organisation, [id_]) == {}
    assert await feed(conn, organisation, after=0, limit=10) == []
    assert await events_of_subjects(conn, organisation, ["item:a"]) == []
