"""A recall of very many units is read and worked out page by page: the answer is the same, and others go on."""

import asyncio
from collections.abc import Callable
from datetime import UTC, datetime
from uuid import UUID

import msgspec
import pytest

from service.assessing import aside, lives, recall_acts, recall_spoken, recalls, taken_back
from service.assessing.moment import asked
from service.assessing.recall_reached import Impact
from service.domain.kinds.recall_opened import Criterion
from service.domain.recall.opening import Opening
from service.known import Memory
from service.ledger import Ledger
from service.store.outlooks_of_kins import OUTLOOKS_OF_KINS
from tests.databases.statements import statements
from tests.oracle.histories import random_history
from tests.use.posting import caller_of, post

OFFICE = caller_of("office")
AT = datetime(2026, 4, 1, tzinfo=UTC)
CRITERIA = tuple(Criterion(model=model) for model in ("hood", "pack", "mask", "bare"))


@pytest.fixture
async def firm(ledger: Ledger) -> Ledger:
    """Give a firm with a history, in a process that has read no unit."""
    await post(ledger, random_history(95, 150).posted)
    return msgspec.structs.replace(ledger, memory=Memory())


async def told(ledger: Ledger) -> Impact:
    """Tell of every unit by a recall of all models and items, as at one moment."""
    async with asked(ledger, OFFICE, AT) as question:
        key = (question.as_at, True, 0, "", 0, b"", False)
        every = (*CRITERIA, *(Criterion(item=item) for item in sorted(question.world.rulebook.items.timelines)))
        found = await recalls.impact(question, [Opening("rc-every", key, UUID(int=1), "m-1", "inspect", every)], None)
        return msgspec.structs.replace(found, openings=())


def of(found: Impact) -> list[object]:
    """Give unit by unit what is told of it."""
    return [(one.unit, one.touched, one.spells, one.site, one.last_spoken_at) for one in found.units]


async def test_units_are_read_some_at_a_time(firm: Ledger, monkeypatch: pytest.MonkeyPatch) -> None:
    """And what is told of them is the same, in the same order, however many these are."""
    with statements() as at_once:
        whole = await told(firm)
    for module, size in ((lives, "KINS"), (recall_acts, "KINS"), (recall_acts, "UNITS"), (taken_back, "EVENTS")):
        monkeypatch.setattr(module, size, 1)
    with statements() as by_page:
        found = await told(msgspec.structs.replace(firm, memory=Memory()))
    assert at_once.count(OUTLOOKS_OF_KINS) == 1
    assert by_page.count(OUTLOOKS_OF_KINS) > 3
    assert of(found) == of(whole)
    assert (found.stock, found.exposing) == (whole.stock, whole.exposing)


async def test_others_have_their_turn_while_units_are_looked_at(firm: Ledger, monkeypatch: pytest.MonkeyPatch) -> None:
    """What is spoken of in units of a page is found beside the loop: it goes on meanwhile."""
    monkeypatch.setattr(aside, "MANY", 1)
    loop, turns = asyncio.get_running_loop(), list[int]()

    async def turn() -> None:
        turns.append(1)

    def once_others_had_a_turn(work: Callable[..., object]) -> Callable[..., object]:
        def worked(*given: object) -> object:
            asyncio.run_coroutine_threadsafe(asyncio.wait_for(turn(), 10), loop).result(10)
            return work(*given)

        return worked

    for name in ("_add", "_complete"):
        monkeypatch.setattr(recall_spoken, name, once_others_had_a_turn(getattr(recall_spoken, name)))
    assert (await told(firm)).units
    assert len(turns) == 2
