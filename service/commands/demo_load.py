"""Post the demo in the order of its messages' arrival, and hold what comes of it against what should."""

import time
from collections import Counter
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from datetime import UTC, datetime
from typing import NamedTuple
from uuid import UUID

import httpx
import msgspec
from rich.console import Console
from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeElapsedColumn

from seed.scenario import scenario
from service.commands import issued_keys
from service.commands.demo_batches import Batch, Surprise, Tally, batches, headers
from service.commands.demo_witness import Changed, Witness
from service.settings import Settings

EVERY = 5000
"""Messages between two words of progress where the output is no terminal."""
SHOWN = 5
"""Surprises and changed summaries that are told in full."""


class Came(NamedTuple):
    """What came of the load: outcomes by expectation, what was otherwise, and the time spent posting (seconds)."""

    outcomes: Counter[str]
    surprises: list[Surprise]
    summaries: int
    changed: list[Changed]
    posting: float


class _Results(msgspec.Struct, frozen=True):
    results: list[dict[str, object]]


async def load(settings: Settings, organisation: UUID, address: str, end: datetime) -> Came:
    """Post the year that ends at that moment."""
    played = list(batches(scenario(end).deliveries))
    wanted = {(batch.sender.role, batch.sender.site) for batch in played} | {("manager", None)}
    keys = await issued_keys.make(settings, organisation, issued_keys.DEMO, sorted(wanted, key=str))
    tally, posting = Tally(), 0.0
    async with httpx.AsyncClient(base_url=address, timeout=120) as client:
        witness = Witness(client, keys["manager", None], len(played))
        with progress(sum(len(batch.deliveries) for batch in played)) as advance:
            for step, batch in enumerate(played, 1):
                sent = time.monotonic()
                tally.add(batch, await post(client, batch, keys[batch.sender.role, batch.sender.site]))
                posting += time.monotonic() - sent
                await witness.after(step, batch.deliveries[-1].at.astimezone(UTC).isoformat())
                advance(len(batch.deliveries))
        return Came(tally.outcomes, tally.surprises, len(witness.saved), await witness.changed(), posting)


async def post(client: httpx.AsyncClient, batch: Batch, key: str) -> list[dict[str, object]]:
    """Post a batch and give one result per message."""
    answer = await client.post(
        "/v1/events",
        content=msgspec.json.encode([delivery.message for delivery in batch.deliveries]),
        headers=headers(batch.sender, key, datetime.now(UTC)),
    )
    answer.raise_for_status()
    return msgspec.json.decode(answer.content, type=_Results).results


def report(came: Came) -> Iterator[str]:
    """Tell what came of the load, line by line."""
    posted = sum(came.outcomes.values()) + len(came.surprises)
    told = ", ".join(f"{count:,} {outcome}" for outcome, count in came.outcomes.most_common())
    yield f"{posted:,} messages in {came.posting:.1f} s ({posted / max(came.posting, 0.001):,.0f} a second): {told}."
    yield f"{came.summaries - len(came.changed)} of {came.summaries} saved summaries are the same byte for byte."
    for surprise in came.surprises[:SHOWN]:
        yield f"Otherwise than expected: {surprise.id} should be {surprise.expected}, but {_short(surprise.result)}"
    if len(came.surprises) > SHOWN:
        yield f"... and {len(came.surprises) - SHOWN} more."
    for changed in came.changed[:SHOWN]:
        yield f"Changed: as_at={changed.saved.as_at} known_at={changed.saved.known_at}"


def _short(result: Mapping[str, object]) -> str:
    """Write a result on one line."""
    return msgspec.json.encode(result).decode()[:500]


@contextmanager
def progress(total: int) -> Iterator[Callable[[int], None]]:
    """Show a bar on a terminal, and elsewhere a line every few thousand messages; gives what moves it on."""
    console = Console(stderr=True)
    if console.is_terminal:
        columns = (TextColumn("Posting"), BarColumn(), MofNCompleteColumn(), TimeElapsedColumn())
        with Progress(*columns, console=console) as bar:
            task = bar.add_task("", total=total)
            yield lambda count: bar.advance(task, count)
        return
    done = 0

    def advance(count: int) -> None:
        nonlocal done
        before, done = done, done + count
        if before // EVERY != done // EVERY or done == total:
            console.print(f"Posted {done:,} of {total:,} messages.", highlight=False)

    yield advance
