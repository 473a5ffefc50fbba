"""Long histories are marked on the way, and what comes late is folded from a mark as it is from the beginning."""

from dataclasses import replace
from datetime import datetime, timedelta

import pytest

from service.domain import marking
from service.domain.world import World
from service.ledger import Ledger
from service.rebuild import Difference, differences
from service.recording.draft import Draft
from service.recording.state import KinState
from service.store.connecting import connect
from service.store.scope import set_organisation
from tests.oracle.firm import FIRM
from tests.oracle.histories import random_history
from tests.oracle.posting import Posted, moment, say
from tests.use.posting import ORGANISATION, post, post_together
from tests.use.test_rebuild import silent
from tests.use.test_waiting import named, unit


class Seen:
    """How many folds began at a mark, and how many of them had to begin anew."""

    def __init__(self) -> None:
        self.taken_up = 0
        self.given_up = 0


@pytest.fixture
def seen(monkeypatch: pytest.MonkeyPatch) -> Seen:
    """Mark before one of two facts, and count the folds that begin there."""
    found, plain = Seen(), Draft.fold_from

    def watched(draft: Draft, base: KinState | None, world: World) -> bool:
        done = plain(draft, base, world)
        if base is not None:
            found.taken_up += done
            found.given_up += not done
        return done

    monkeypatch.setattr(marking, "EVERY", 2)
    monkeypatch.setattr(Draft, "fold_from", watched)
    return found


async def differing(owner_url: str) -> list[Difference]:
    """Name every derived row that a rebuild would write otherwise."""
    async with await connect(owner_url) as owner, owner.transaction():
        await set_organisation(owner, ORGANISATION)
        return await differences(owner, ORGANISATION, silent)


async def marked(owner_url: str) -> list[datetime]:
    """Give the instants of the marks."""
    async with await connect(owner_url) as owner, owner.transaction():
        await set_organisation(owner, ORGANISATION)
        rows = await (await owner.execute("SELECT at FROM ledger.fold_mark ORDER BY at")).fetchall()
    return [row[0] for row in rows]


@pytest.mark.parametrize("seed", range(1, 7))
async def test_a_fold_from_a_mark_is_the_fold_from_the_beginning(
    seed: int, ledger: Ledger, owner_url: str, seen: Seen
) -> None:
    """Whatever comes late in a random history, each derived row and each mark is as a rebuild has it."""
    await post(ledger, random_history(seed, 150).posted)
    assert await differing(owner_url) == []
    assert seen.taken_up > 0


def washed(minute: float, received: str = "2026-03-02 20:00") -> Posted:
    """Clean the unit so many minutes after seven."""
    at = moment("2026-03-02 07:00") + timedelta(minutes=minute)
    ident = f"0198c1f2-7a10-7c3e-9b56-{int(minute * 100):012d}"
    return say("cleaned", at.isoformat(), asset="W-1", scope="unit", method="wiped", id=ident, received=received)


async def test_late_events_of_a_batch_are_folded_from_one_mark(ledger: Ledger, owner_url: str, seen: Seen) -> None:
    """In whatever order they come, they are folded on from the mark before the earliest."""
    await post(ledger, named([*FIRM, unit()]))
    await post_together(ledger, [washed(minute) for minute in range(30)])
    late = [washed(minute, "2026-03-02 21:00") for minute in (22.5, 20.5, 25.5)]
    receipts = await post_together(ledger, late)

    assert [receipt.status for receipt in receipts] == [201, 201, 201]
    assert (seen.taken_up, seen.given_up) == (1, 0)
    assert await differing(owner_url) == []


async def test_what_a_voiding_reaches_is_folded_from_the_beginning(ledger: Ledger, owner_url: str, seen: Seen) -> None:
    """A mark serves no fold that a later voiding bears on: what was voided would count again."""
    await post(ledger, named([*FIRM, unit()]))
    await post_together(ledger, [washed(minute) for minute in range(30)])
    void = say("voided", "2026-03-02 20:30", "m-1", event=str(washed(25).message["id"]), reason="twice", key="desk")
    await post(ledger, [replace(void, message={"id": "0198c1f2-7a10-7c3e-9b57-000000000001", **void.message})])
    await post(ledger, [washed(20.5, "2026-03-02 21:00")])

    assert (seen.taken_up, seen.given_up) == (0, 0)
    assert await differing(owner_url) == []


async def test_what_is_put_in_leaves_other_marks_where_they_are(ledger: Ledger, owner_url: str) -> None:
    """A long history is marked about every 64 facts; a late event moves no mark but those beside it."""
    await post(ledger, named([*FIRM, unit()]))
    await post_together(ledger, [washed(minute) for minute in range(1, 601)])
    before = await marked(owner_url)
    await post(ledger, [washed(360.5, "2026-03-02 21:00")])
    after = await marked(owner_url)

    assert 4 < len(before) < 18
    assert after == before
    assert await differing(owner_url) == []
