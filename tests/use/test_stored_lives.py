"""Units as they are stored, remembered by one process while others write: answers are those of one that forgets all."""

from collections.abc import Iterable, Sequence
from datetime import datetime
from random import Random
from uuid import UUID

import msgspec
import pytest
from psycopg import AsyncConnection

from service.assessing import lives
from service.assessing import stored_lives as reading
from service.assessing.lives import lives_by_page
from service.assessing.moment import Question, asked
from service.assessing.recall_reached import Impact
from service.assessing.recalls import impact
from service.assessing.stored_lives import StoredKin, stored_kins, stored_lives
from service.domain.kinds.recall_opened import Criterion
from service.domain.recall.opening import Opening, supposed
from service.known import Memory
from service.ledger import Ledger
from service.remembered import Remembered
from service.store.outlooks_of_kins import OutlookOfKin, outlooks_of_kins
from tests.databases.statements import statements
from tests.oracle.firm import FIRM
from tests.oracle.histories import random_history
from tests.oracle.posting import Posted
from tests.use.posting import caller_of, post
from tests.use.test_recalls import hood
from tests.use.test_waiting import named

OFFICE = caller_of("office")
CRITERIA = tuple(Criterion(model=model) for model in ("hood", "pack", "mask", "bare"))


async def told(question: Question) -> Impact:
    """Tell of every unit, part and wearer by a recall of all models, and of all items."""
    key = (question.as_at, True, 0, "", 0, b"", False)
    every = (*CRITERIA, *(Criterion(item=item) for item in sorted(question.world.rulebook.items.timelines)))
    return await impact(question, [Opening("rc-every", key, UUID(int=1), "m-1", "inspect", every)], None)


async def kins(question: Question) -> dict[str, StoredKin]:
    """Read every kin that there is."""
    cursor = await question.conn.execute("SELECT kin FROM ledger.kin WHERE organisation = %s", [question.organisation])
    return await read(question, [kin for (kin,) in await cursor.fetchall()])


async def read(question: Question, wanted: Iterable[str]) -> dict[str, StoredKin]:
    """Read kins as one page."""
    page = dict.fromkeys(wanted)
    return await stored_lives(question, await stored_kins(question, page), page)


def cut(random: Random, posted: Sequence[Posted]) -> list[Sequence[Posted]]:
    """Cut messages into runs of up to thirty."""
    runs: list[Sequence[Posted]] = []
    while posted:
        many = random.randrange(1, 31)
        runs, posted = [*runs, posted[:many]], posted[many:]
    return runs


@pytest.mark.parametrize("seed", range(3))
async def test_whoever_remembers_answers_as_whoever_does_not(ledger: Ledger, seed: int) -> None:
    """While a history of late, doubled and voided events arrives: now, as at then, and as known then."""
    random = Random(seed)  # noqa: S311 - guards nothing
    moments: list[datetime] = []
    units: list[int] = []
    for run in cut(random, random_history(seed + 70, 150).posted):
        await post(ledger, run)
        moments.append(run[-1].received_at)
        forgetful = msgspec.structs.replace(ledger, memory=Memory())
        for as_at, known_at in ((None, None), (random.choice(moments), None)):
            async with asked(ledger, OFFICE, as_at, known_at) as question:
                remembered = await told(question)
                at, known = question.as_at, question.known_at
            async with asked(forgetful, OFFICE, at, known) as question:
                assert await told(question) == remembered, (at, known)
            units.append(len(remembered.units))
    assert units[0] < max(units)
    assert sum(units) > 50


async def test_a_kin_is_read_again_once_anything_of_it_was_written(ledger: Ledger) -> None:
    """And no other one is."""
    history = random_history(91, 120).posted
    await post(ledger, history[:-10])
    same, anew = 0, 0
    async with asked(ledger, OFFICE) as question:
        before = await kins(question)
    for one in history[-10:]:
        await post(ledger, [one])
        async with asked(ledger, OFFICE) as question:
            after = await kins(question)
        left = {kin for kin, lives in before.items() if after.get(kin) is lives}
        same, anew, before = same + len(left), anew + len(after.keys() - left), after
    assert same > 10
    assert 0 < anew <= 20


async def test_where_all_is_remembered_nothing_more_is_asked_than_whether_it_is_the_same(ledger: Ledger) -> None:
    """To be told that there is nothing to read takes as long as to read a little."""
    await post(ledger, random_history(94, 100).posted)
    async with asked(ledger, OFFICE) as question:
        known = await kins(question)
        with statements() as sent:
            assert await read(question, known) == known
            assert len(sent) == 1
            assert [page.every async for page in lives_by_page(question, dict.fromkeys(known))]
            assert len(sent) == 2


async def test_no_more_is_read_again_than_another_question_drove_out(
    ledger: Ledger, monkeypatch: pytest.MonkeyPatch
) -> None:
    """By pages, too, and whether there is room for all of them or not: what is kept of one drives out no other."""
    tags = [f"H-{nth:02}" for nth in range(12)]
    await post(ledger, named([*FIRM, *(one for tag in tags for one in hood(tag))], 500))
    async with asked(ledger, OFFICE) as question:
        had_by_one_and_worn_by_nobody = 3
        weights = [life.weight for kin in (await kins(question)).values() for life in kin]
        weight = max(weights) + had_by_one_and_worn_by_nobody
    forgetful = msgspec.structs.replace(ledger, memory=Memory())
    monkeypatch.setattr(forgetful.memory, "_lives", Remembered[StoredKin](8 * weight))
    monkeypatch.setattr(lives, "KINS", 2)
    sent: list[str] = []

    async def noted(conn: AsyncConnection, organisation: UUID, wanted: Iterable[str]) -> list[OutlookOfKin]:
        sent.extend(wanted)
        return await outlooks_of_kins(conn, organisation, wanted)

    async def read_for(first: int, last: int) -> int:
        """Count the kins that are read where a recall speaks of some units."""
        sent.clear()
        meant = Criterion(serials=tuple(f"S-{tag}" for tag in tags[first:last]))
        async with asked(forgetful, OFFICE) as question:
            found = await impact(question, [supposed((meant,), question.as_at)], None)
        assert len(found.units) == last - first
        return len(sent)

    monkeypatch.setattr(reading, "outlooks_of_kins", noted)
    assert [await read_for(0, 8), await read_for(0, 8)] == [8, 0]
    assert [await read_for(8, 9), await read_for(0, 8)] == [1, 1]
    assert [await read_for(0, 12), await read_for(0, 12)] == [4, 4]
    assert [await read_for(8, 12), await read_for(0, 12)] == [4, 4]


async def test_who_looks_at_an_older_snapshot_is_told_what_that_holds(ledger: Ledger) -> None:
    """Though another question of the same process has read and remembered what was written meanwhile."""
    history = random_history(92, 140).posted
    await post(ledger, history[:-40])
    async with asked(ledger, OFFICE) as older:
        before = await kins(older)
        await post(ledger, history[-40:])
        async with asked(ledger, OFFICE) as newer:
            after = await kins(newer)
        assert await kins(older) == before
        async with asked(ledger, OFFICE) as newer:
            assert await kins(newer) == after
    assert after != before


async def test_with_no_room_nothing_is_remembered_and_all_is_told(ledger: Ledger) -> None:
    """A firm may have more units than a process remembers."""
    await post(ledger, random_history(93, 100).posted)
    async with asked(ledger, OFFICE) as question:
        full = await kins(question)
        question.known.lives = Remembered(0)
        first, second = await kins(question), await kins(question)
    assert first == second == full
    assert all(second[kin] is not known for kin, known in first.items())
