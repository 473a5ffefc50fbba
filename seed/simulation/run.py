"""A simulation from beginning to end: define the firm, let its devices deliver, ask the service what it knows."""

import asyncio
from time import perf_counter

from seed.keys import Keys
from seed.simulation.checks import verify
from seed.simulation.checks.asking import Asking, Stated
from seed.simulation.delivery import Progress, define, deliver
from seed.simulation.journal import Journal
from seed.simulation.outcome import Outcome, outcome
from seed.simulation.story import Story
from seed.simulation.wire import Wire


class NotInTime(Exception):
    """The time that a simulation was given is over."""

    def __init__(self, seconds: int, acknowledged: int, messages: int) -> None:
        super().__init__(f"not done within {seconds:,} s: {acknowledged:,} of {messages:,} messages were acknowledged")


async def simulate(story: Story, address: str, keys: Keys, progress: Progress, *, seconds: int, alone: bool) -> Outcome:
    """Send a story to a service and verify what it makes of it; `alone` says that nobody else posts there.

    Raises NotInTime after so many seconds, NotDefined and NotAsAsked where the service does not do its part.
    """
    journal = Journal()
    wire = Wire(address, journal)
    try:
        async with asyncio.timeout(seconds):
            asking = Asking(wire, keys.administrator)
            await asking.get("/health/ready")
            journal.asks.clear()  # the service may just have been starting
            before = int((await asking.get("/v1/events", limit="1"))["judged_to"])
            began = perf_counter()
            await define(story, wire, keys, journal)
            await deliver(story, wire, keys, journal, progress)
            took = perf_counter() - began
            stated = Stated(story=story, journal=journal, before=before, alone=alone)
            return outcome(story, journal, took, await verify(asking, stated))
    except TimeoutError as over:
        raise NotInTime(seconds, len(journal.acknowledged), len(story.before) + len(story.taken)) from over
    finally:
        await wire.close()
