"""Load the demo into a running service, through `POST /v1/events` alone."""

import asyncio
from collections import Counter, deque
from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from time import perf_counter

import msgspec

from seed.batches import Batch, chapters
from seed.delivery import Delivery
from seed.keys import Keys
from seed.scenario import SEED, Scenario, scenario
from seed.summaries import Saved, changed, save
from seed.truth import Truth
from seed.wire import TOLD, LoadError, Refused, Wire

Progress = Callable[[int, int], None]
EVENTS = "/v1/events"
MULTI_STATUS = 207
SUMMARIES = 50
"""How many summaries are saved while others post."""
AT_ONCE = 4
"""Requests that wait for their answers side by side."""
WAITS = b'"waits":true'
"""Says that a message names what another lane has still to bring; it is accepted by itself when that comes."""
REFUSED = frozenset(range(400, 500))
EXPECTED = {
    "recorded": frozenset({200, 201}),
    "repeated": frozenset({200}),
    "rejected": REFUSED,
    "waiting": REFUSED | {200, 201},
}
"""The statuses each expectation allows; where a load is taken up again, what is there already is answered with 200."""


class Posted(msgspec.Struct, frozen=True):
    """What came of posting: answers by status, seconds spent with asking too, and the summaries saved meanwhile."""

    messages: int
    statuses: dict[int, int]
    seconds: float
    saved: tuple[Saved, ...]
    truth: Truth

    @property
    def per_second(self) -> float:
        """Give the messages posted in a second."""
        return self.messages / self.seconds


class _Result(msgspec.Struct, frozen=True):
    status: int
    problem: msgspec.Raw = msgspec.Raw(b"null")


class _Results(msgspec.Struct, frozen=True):
    results: list[_Result]


class Unexpected(LoadError):
    """One message of a batch was answered otherwise than it should be."""

    def __init__(self, delivery: Delivery, result: _Result) -> None:
        told = bytes(result.problem)[:TOLD]
        super().__init__(f"{delivery.expects} was expected of {delivery.message}, not {result.status} {told!r}")


class _Loading(msgspec.Struct):
    """The work under way, and what was answered so far.

    `due` are the summaries to save: after how many messages, and as at which moment.
    """

    wire: Wire
    keys: Keys
    due: deque[tuple[int, datetime]]
    progress: Progress
    total: int
    done: int = 0
    statuses: Counter[int] = msgspec.field(default_factory=Counter)
    saved: list[Saved] = msgspec.field(default_factory=list)


async def load(
    base_url: str, keys: Keys, progress: Progress, *, end: datetime | None = None, seed: int = SEED
) -> Posted:
    """Play the scenario up to `end` (now, where left out) and post it all.

    `progress` is called with the messages done and all messages. LoadError where an answer is not the expected one.
    """
    story = await asyncio.to_thread(scenario, end or datetime.now(UTC), seed)
    return await post_story(base_url, keys, progress, story)


async def post_story(base_url: str, keys: Keys, progress: Progress, story: Scenario) -> Posted:
    """Post a scenario that was played already."""
    total = len(story.deliveries)
    shares = (total * number // SUMMARIES for number in range(1, SUMMARIES + 1))
    due = deque((share, story.deliveries[share - 1].at) for share in shares)
    loading = _Loading(Wire(base_url), keys, due, progress, total)
    began = perf_counter()
    for chapter in chapters(story.deliveries, keys):
        await _post_lanes(loading, iter([chapter.first]))
        lanes = iter(chapter.lanes)
        await asyncio.gather(*(_post_lanes(loading, lanes) for _ in range(AT_ONCE)))
        await _post_lanes(loading, iter([chapter.last]))
    seconds = perf_counter() - began
    return Posted(total, dict(loading.statuses), seconds, tuple(loading.saved), story.truth)


async def reread(base_url: str, keys: Keys, posted: Posted) -> tuple[str, ...]:
    """Ask the saved summaries again, as known then; give the `as_at` of those that read otherwise now."""
    return await changed(Wire(base_url), keys.manager, posted.saved)


async def _post_lanes(loading: _Loading, lanes: Iterator[tuple[Batch, ...]]) -> None:
    """Post one lane after the other, as long as nobody else has taken the last of them."""
    for lane in lanes:
        for batch in lane:
            await _post(loading, batch)


async def _post(loading: _Loading, batch: Batch) -> None:
    """Post one batch and hold each answer against what was expected."""
    body = msgspec.json.encode([_stamped(one) for one in batch.deliveries])
    answer = await loading.wire.post(EVENTS, batch.key, body, {"Prefer": "import"} if batch.imported else {})
    if answer.status != MULTI_STATUS:
        raise Refused(EVENTS, answer)
    results = msgspec.json.decode(answer.body, type=_Results).results
    for one, result in zip(batch.deliveries, results, strict=True):
        _judge(one, result)
        loading.statuses[result.status] += 1
    loading.done += len(results)
    loading.progress(loading.done, loading.total)
    await _save_due(loading)


async def _save_due(loading: _Loading) -> None:
    """Save the summaries that are due, while others go on posting."""
    while loading.due and loading.due[0][0] <= loading.done:
        _, as_at = loading.due.popleft()
        loading.saved.append(await save(loading.wire, loading.keys.manager, as_at))


def _stamped(delivery: Delivery) -> dict[str, object]:
    """Add what the device's clock shows at this moment; an import states no clock."""
    if delivery.imported:
        return delivery.message
    shown = datetime.now(UTC) + timedelta(seconds=delivery.clock_ahead)
    return delivery.message | {"sent_at": shown.isoformat()}


def _judge(delivery: Delivery, result: _Result) -> None:
    waits = delivery.expects == "recorded" and WAITS in bytes(result.problem)
    if not waits and result.status not in EXPECTED[delivery.expects]:
        raise Unexpected(delivery, result)
