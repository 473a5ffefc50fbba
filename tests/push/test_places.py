"""Receivers that are slow: whose messages they hold up, and whose they do not."""

import asyncio
from uuid import UUID

import pytest

from service.pushing import outlet
from service.pushing.places import Places, Turn
from tests.http.doors import FOREIGN, OURS
from tests.http.firm import the_firm
from tests.http.keys import Keys
from tests.push.conftest import sending
from tests.push.hooks import hooked
from tests.push.receiver import Got, receiving, status

OTHER = UUID("0198c1f2-0000-7000-8000-000000000003")


@pytest.fixture(autouse=True)
def few(monkeypatch: pytest.MonkeyPatch) -> None:
    """Let a process have four messages on their way, two of them a firm's."""
    monkeypatch.setattr(outlet, "AT_ONCE", 4)
    monkeypatch.setattr(outlet, "OF_ONE", 2)


async def come(turn: Turn) -> None:
    """Wait for a turn."""
    async with asyncio.timeout(5):
        assert turn.coming is not None
        await turn.coming


async def test_places_come_in_turn() -> None:
    """A firm has its share and no more; whoever comes first is first, of its own firm and of all."""
    places = Places(3, 2)
    ours = [Turn(places, OURS) for _ in range(4)]
    assert [await turn.has_come() for turn in ours] == [True, True, False, False]
    theirs, others = Turn(places, FOREIGN), Turn(places, OTHER)
    assert [await theirs.has_come(), await others.has_come()] == [True, False]
    ours[0].is_over()
    await come(others)
    assert [await ours[2].has_come(), await ours[3].has_come()] == [False, False]
    theirs.is_over()
    await come(ours[2])
    assert not await ours[3].has_come()


async def test_a_turn_that_is_over_leaves_nothing_taken() -> None:
    """Whoever waits no more, or was let in just then, leaves the place to the next."""
    places = Places(1, 1)
    turns = [Turn(places, OURS) for _ in range(3)]
    assert [await turn.has_come() for turn in turns] == [True, False, False]
    turns[0].is_over()
    turns[1].is_over()  # its turn came with the line before
    await come(turns[2])
    turns[2].is_over()
    assert await Turn(places, FOREIGN).has_come()


async def test_one_firms_slow_receivers_hold_up_no_other(keys: Keys, app_url: str) -> None:
    """A firm with more slow receivers than a process has places holds up itself, and is sent all in the end."""
    ours = await keys.make("administrator")
    theirs = await keys.make("administrator", organisation=FOREIGN)
    let_go = asyncio.Event()

    async def slow(_: Got) -> bytes:
        await let_go.wait()
        return status(204)

    async with sending(app_url) as http, receiving(slow) as slowly, receiving() as quickly, asyncio.timeout(20):
        await http.post("/v1/events", json=the_firm(), headers=ours)
        await http.post("/v1/events", json=the_firm(), headers=theirs)
        hooks = [await hooked(http, ours, slowly.url) for _ in range(6)]
        await slowly.until(2)
        hook = await hooked(http, theirs, quickly.url)
        await hook.until(passed=4)
        assert quickly.seqs == [1, 2, 3, 4]
        assert slowly.most_at_once == 2
        let_go.set()
        for one in hooks:
            await one.until(passed=4)
        assert sorted(slowly.seqs) == sorted([1, 2, 3, 4] * 6)
        assert slowly.most_at_once == 2


async def test_what_waits_for_its_turn_is_chosen_then(keys: Keys, app_url: str) -> None:
    """A webhook that is paused while it waits for its firm's other receivers sends nothing when its turn comes."""
    ours = await keys.make("administrator")
    let_go = asyncio.Event()

    async def slow(_: Got) -> bytes:
        await let_go.wait()
        return status(204)

    async with sending(app_url) as http, receiving(slow) as slowly, receiving() as quickly, asyncio.timeout(20):
        await http.post("/v1/events", json=the_firm(), headers=ours)
        slow_ones = [await hooked(http, ours, slowly.url) for _ in range(2)]
        await slowly.until(2)
        hooks = [await hooked(http, ours, quickly.url) for _ in range(2)]
        assert (await hooks[0].put(state="paused")).status_code == 200
        let_go.set()
        for one in (*slow_ones, hooks[1]):
            await one.until(passed=4)
        assert quickly.seqs == [1, 2, 3, 4]
        assert (await hooks[0].told())["progress"]["passed"] == 0


async def test_trials_have_a_few_places_of_their_own(keys: Keys, app_url: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """A test needs no place of the webhooks'; one too many is told so and tried no more; another firm's are its own."""
    monkeypatch.setattr(outlet, "PATIENCE", 0.2)
    ours = await keys.make("integrator")
    theirs = await keys.make("integrator", organisation=FOREIGN)
    office = await keys.make("administrator")
    let_go = asyncio.Event()

    async def slow(_: Got) -> bytes:
        await let_go.wait()
        return status(204)

    async with sending(app_url) as http, receiving(slow) as slowly, receiving() as quickly, asyncio.timeout(20):
        await http.post("/v1/events", json=the_firm(), headers=office)
        for _ in range(2):
            await hooked(http, ours, slowly.url)
        await slowly.until(2)
        hook = await hooked(http, ours, slowly.url, state="paused")
        begun = [asyncio.create_task(hook.post("test")) for _ in range(outlet.TRIALS_OF_ONE)]
        await slowly.until(4)
        refused = await hook.post("test")
        assert (refused.status_code, refused.json()["type"]) == (429, "/problems/too-many-trials")
        assert refused.headers["retry-after"] == "20"
        other = await hooked(http, theirs, quickly.url, state="paused")
        assert (await other.post("test")).json()["delivered"] is True
        let_go.set()
        assert [(await one).json()["delivered"] for one in begun] == [True, True]
        assert (await hook.post("test")).json()["delivered"] is True
