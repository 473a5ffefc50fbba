"""The feed holds every acknowledged event once, where its sender was told, as its device said it, without a gap."""

from collections.abc import Iterator
from datetime import datetime
from typing import Any

from seed.book import Message
from seed.simulation.checks.asking import Asking, Found, Stated
from seed.simulation.journal import Journal

KEPT = ("kind", "by", "site", "device", "device_seq", "asset")
"""What is compared beside the moment."""


async def check(asking: Asking, stated: Stated) -> Found:
    """Read the feed from where it stood before."""
    story, journal = stated.story, stated.journal
    messages = {str(one["id"]): one for one in (*story.before, *(one.message for one in story.taken))}
    differences: list[str] = []
    seen: set[str] = set()
    at = stated.before
    async for page in asking.pages("/v1/events", after=str(stated.before)):
        for event in page["events"]:
            if event["seq"] != at + 1:
                differences.append(f"feed: seq {event['seq']} follows {at}")
            at, ref = event["seq"], event["id"]
            if ref not in messages:
                differences += [f"feed: seq {at} is event {ref}, which nobody sent"] if stated.alone else []
                continue
            if ref in seen:
                differences.append(f"feed: event {ref} stands there twice, again as seq {at}")
            seen.add(ref)
            differences += _compared(event, messages[ref], journal)
    differences += [
        f"feed: event {ref} was acknowledged and is not there" for ref in journal.acknowledged.keys() - seen
    ]
    differences += [f"event {ref}: was never acknowledged" for ref in messages.keys() - journal.acknowledged.keys()]
    return Found(
        what="events in the feed, once and where their senders were told", count=len(seen), differences=(*differences,)
    )


def _compared(event: dict[str, Any], message: Message, journal: Journal) -> Iterator[str]:
    told = journal.acknowledged.get(event["id"])
    if told is not None and (event["seq"], event["recorded_at"]) != (told.seq, told.recorded_at):
        yield f"feed: event {event['id']} is seq {event['seq']} since {event['recorded_at']}, told was {told}"
    said = datetime.fromisoformat(str(message["occurred_at"]))
    if datetime.fromisoformat(event["occurred_at"]) != said:
        yield f"feed: event {event['id']} is at {event['occurred_at']}, sent was {said.isoformat()}"
    for name in KEPT:
        if event.get(name) != message.get(name):
            yield f"feed: event {event['id']} has {name} {event.get(name)!r}, sent was {message.get(name)!r}"
