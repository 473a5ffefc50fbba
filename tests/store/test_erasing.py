"""What is left of a rejected message that is not kept whole, or no longer."""

from datetime import timedelta
from uuid import UUID, uuid4

import msgspec
import pytest

from service.domain.problem import Problem
from service.store.connecting import connect
from service.store.erase_rejected import ErasedMessage, erase_rejected
from service.store.messages_waiting_for import messages_waiting_for
from service.store.open_of_key import open_of_key
from service.store.prune_rejected import prune_rejected
from service.store.reject import Rejected, Rejection, reject
from service.store.rejected_message import rejected_message
from service.store.rejected_messages import RejectedMessage
from service.store.scope import set_organisation, writing
from service.store.settle import settle
from tests.store.making import KEY, Desk, a_rejection, minutes, rows

ERASED = Problem(code="malformed", detail="The message was erased.")
GOOD_NEWS = {"adverse": False, "tag": None}


async def told(desk: Desk, rejection: Rejection, *, room: bool = True) -> Rejected:
    """Reject a message in a transaction of its own."""
    async with writing(desk.pool, desk.organisation) as conn:
        return await reject(conn, desk.organisation, rejection, room=room)


async def found(desk: Desk, id_: UUID | None) -> RejectedMessage:
    """Give a message that is there."""
    assert id_ is not None
    async with writing(desk.pool, desk.organisation) as conn:
        message = await rejected_message(conn, desk.organisation, id_)
    assert message is not None
    return message


async def erased(desk: Desk, **what: object) -> list[ErasedMessage]:
    """Erase messages as the owner."""
    async with await connect(desk.database.owner_url) as owner, owner.transaction():
        await set_organisation(owner, desk.organisation)
        return await erase_rejected(owner, desk.organisation, minutes(60), **what)  # type: ignore[arg-type] # fields by name


async def dismissed(desk: Desk, rejection: Rejection) -> RejectedMessage:
    """Keep a message and dismiss it."""
    kept = await told(desk, rejection)
    assert kept.id is not None
    async with writing(desk.pool, desk.organisation) as conn:
        assert await settle(conn, desk.organisation, kept.id, state="dismissed", key=KEY, reason="sent twice")
    return await found(desk, kept.id)


async def test_fields_are_kept_in_the_place_of_a_body(desk: Desk) -> None:
    """Of a message with fields their names stay and the hash of its body, so that a repeat is the same message."""
    kept = await told(desk, a_rejection(fields=("kind", "asset", "diagnosis")))
    again = await told(desk, a_rejection(fields=("kind", "asset", "diagnosis")))
    message = await found(desk, kept.id)
    assert (kept.kept, kept.more) == ("fields", True)
    assert again == Rejected(kept.id, "fields", more=False)
    assert (message.body, message.fields, message.kept, message.count) == (
        None, ["kind", "asset", "diagnosis"], "fields", 2,
    )  # fmt: skip
    assert await rows(desk, 'SELECT body_hash = sha256(\'{"kind":"failed-check"}\') FROM ledger.rejected_message') == [
        (True,)
    ]


async def test_without_room_nothing_is_kept(desk: Desk) -> None:
    """A message for which there is no room leaves no row."""
    assert await told(desk, a_rejection(**GOOD_NEWS), room=False) == Rejected(None, "nothing", more=False)
    assert await rows(desk, "SELECT count(*) FROM ledger.rejected_message") == [(0,)]


async def test_without_room_a_report_is_kept_all_the_same(desk: Desk) -> None:
    """A report of a failure is a row, with a message that can be settled but has no body."""
    kept = await told(desk, a_rejection(), room=False)
    message = await found(desk, kept.id)
    assert (kept.kept, kept.more) == ("report", True)
    assert (message.body, message.kept, message.state, message.adverse) == (None, "report", "open", True)
    assert await rows(desk, "SELECT id, tag, settled_at FROM ledger.failure_report") == [(kept.id, "FX-0001", None)]


async def test_body_is_kept_when_it_comes_again_and_there_is_room(desk: Desk) -> None:
    """A report that was kept without its message gets it when it is sent again, and is counted."""
    kept = await told(desk, a_rejection(), room=False)
    assert await told(desk, a_rejection(), room=False) == Rejected(kept.id, "report", more=False)
    assert await told(desk, a_rejection()) == Rejected(kept.id, "whole", more=True)
    message = await found(desk, kept.id)
    assert (message.body, message.count) == (b'{"kind":"failed-check"}', 3)
    assert await told(desk, a_rejection()) == Rejected(kept.id, "whole", more=False)


async def test_open_messages_of_a_key_are_counted(desk: Desk) -> None:
    """What is open counts with the bytes of its body, as far as one wants to count; settled and others' do not."""
    for body in (b"12345", b"1234567"):
        await told(desk, a_rejection(body=body))
    await told(desk, a_rejection(body=b"123", fields=("kind",)))
    await told(desk, a_rejection(body=b"of another key", key=uuid4()))
    await dismissed(desk, a_rejection(body=b"is settled"))
    async with writing(desk.pool, desk.organisation) as conn:
        assert await open_of_key(conn, desk.organisation, KEY, 10) == (3, 12)
        assert (await open_of_key(conn, desk.organisation, KEY, 2))[0] == 2
        assert await open_of_key(conn, desk.organisation, uuid4(), 10) == (0, 0)
        assert await open_of_key(conn, desk.foreign, KEY, 10) == (0, 0)


async def test_message_is_erased(desk: Desk) -> None:
    """Of an erased message body, fields and the words of its problem are gone; its report and its place stay."""
    other = await told(desk, a_rejection(body=b"other"))
    kept = await told(desk, a_rejection())
    [gone] = await erased(desk, rejected=kept.id)
    message = await found(desk, kept.id)
    assert (gone.id, gone.state, gone.kind, gone.tag) == (kept.id, "open", "failed-check", "FX-0001")
    assert (message.body, message.kept, message.state, message.tag) == (None, "erased", "open", "FX-0001")
    assert msgspec.json.decode(message.problem, type=Problem) == ERASED
    assert await rows(desk, "SELECT count(*) FROM ledger.failure_report") == [(2,)]
    assert (await found(desk, other.id)).kept == "whole"
    assert await erased(desk, rejected=kept.id) == []


async def test_erased_message_stays_erased(desk: Desk) -> None:
    """Sent again, an erased message is counted, and nothing of it is kept."""
    kept = await told(desk, a_rejection())
    await erased(desk, rejected=kept.id)
    assert await told(desk, a_rejection()) == Rejected(kept.id, "erased", more=False)
    message = await found(desk, kept.id)
    assert (message.body, message.count) == (None, 2)
    assert msgspec.json.decode(message.problem, type=Problem) == ERASED


async def test_erased_message_waits_no_longer(desk: Desk) -> None:
    """What it waited for does not bring an erased message back."""
    kept = await told(desk, a_rejection())
    await erased(desk, rejected=kept.id)
    async with writing(desk.pool, desk.organisation) as conn:
        assert await messages_waiting_for(conn, desk.organisation, ["asset:FX-0001"]) == []


async def test_messages_of_a_key_are_erased(desk: Desk) -> None:
    """All messages of a key are erased, with the reasons they were dismissed for, and no other's."""
    first = await dismissed(desk, a_rejection(body=b"first"))
    second = await told(desk, a_rejection(body=b"second", fields=("kind", "diagnosis")))
    other = await told(desk, a_rejection(body=b"third", key=uuid4()))
    assert [gone.id for gone in await erased(desk, key=KEY)] == [first.id, second.id]
    assert ((await found(desk, first.id)).reason, (await found(desk, second.id)).fields) == ("erased", None)
    assert (await found(desk, other.id)).kept == "whole"


async def test_messages_that_name_somebody_are_erased(desk: Desk) -> None:
    """A reference is looked for between its quotes, in bytes that need not be JSON."""
    named = [
        await told(desk, a_rejection(body=body))
        for body in (b'{"by":"p-2"}', b'{"by":"p-1","wearer":"p-2"', b'\xff"p-2"\x00')
    ]
    others = [await told(desk, a_rejection(body=body)) for body in (b'{"by":"p-22"}', b'{"remark":"not p-2"}')]
    assert [gone.id for gone in await erased(desk, naming="p-2")] == [one.id for one in named]
    assert [(await found(desk, one.id)).kept for one in others] == ["whole", "whole"]


async def test_foreign_messages_are_not_erased(desk: Desk) -> None:
    """An organisation erases its own messages alone."""
    kept = await told(desk, a_rejection())
    async with await connect(desk.database.owner_url) as owner, owner.transaction():
        await set_organisation(owner, desk.foreign)
        assert await erase_rejected(owner, desk.organisation, minutes(60), key=KEY) == []
        assert await erase_rejected(owner, desk.foreign, minutes(60), rejected=kept.id) == []


@pytest.mark.parametrize("problem", [b'{"code":"malformed","detail":"\\u0000 and \\ud83d\\ude00"}'])
async def test_old_settlements_are_pruned(desk: Desk, problem: bytes) -> None:
    """What was settled by a moment is erased, the oldest first and so many at a time; why it was dismissed stays."""
    settled = [await dismissed(desk, a_rejection(body=bytes([place]), problem=problem)) for place in range(4)]
    still = await told(desk, a_rejection(body=b"open"))
    until = settled[2].settled_at
    assert until is not None

    async def pruned(limit: int) -> int:
        async with await connect(desk.database.owner_url) as owner, owner.transaction():
            await set_organisation(owner, desk.organisation)
            return await prune_rejected(
                owner, desk.organisation, at=until + timedelta(days=90), settled_until=until, limit=limit
            )

    assert await pruned(2) == 2
    assert [(await found(desk, one.id)).kept for one in settled] == ["erased", "erased", "whole", "whole"]
    assert await pruned(2) == 1
    assert await pruned(2) == 0
    third = await found(desk, settled[2].id)
    assert (third.kept, third.body, third.reason) == ("erased", None, "sent twice")
    assert msgspec.json.decode(third.problem, type=Problem) == ERASED
    assert ((await found(desk, settled[3].id)).kept, (await found(desk, still.id)).kept) == ("whole", "whole")
