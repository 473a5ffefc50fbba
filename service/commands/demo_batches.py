"""The demo's messages as requests: which travel together, with which key and headers, and what is to come of them."""

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from datetime import UTC, datetime, timedelta
from email.utils import format_datetime
from itertools import groupby, islice
from typing import NamedTuple

from seed.delivery import Delivery

MOST = 500
"""Messages in one request; a batch may have 1,000, but smaller ones keep the writer's answer quick."""
EXPECTED = {
    "recorded": {201, 200},
    "repeated": {200},
    "rejected": set(range(400, 500)),
    "waiting": set(range(400, 500)),
}
"""The statuses that each expectation allows; a first post meets a 200 where an interrupted load is taken up again."""


class Sender(NamedTuple):
    """Who posts: a role, the site its key is bound to, whether as an import, and how wrong the clock is (seconds)."""

    role: str
    site: str | None
    imported: bool
    clock_ahead: int


class Batch(NamedTuple):
    """Messages of one sender, in the order of their arrival."""

    sender: Sender
    deliveries: tuple[Delivery, ...]


def sender_of(delivery: Delivery) -> Sender:
    """Say whose key a message needs: the past is brought in by the administrator, the last days come from the sites."""
    if delivery.imported:
        return Sender("administrator", None, imported=True, clock_ahead=0)
    site = delivery.site if delivery.key_role in {"site-app", "site-lead"} else None
    return Sender(delivery.key_role, site, imported=False, clock_ahead=delivery.clock_ahead)


def batches(deliveries: Iterable[Delivery]) -> Iterator[Batch]:
    """Group the messages without changing their order."""
    for sender, run in groupby(deliveries, key=sender_of):
        while together := tuple(islice(run, MOST)):
            yield Batch(sender, together)


def headers(sender: Sender, key: str, now: datetime) -> dict[str, str]:
    """Give the headers of a request: the key, and the sender's clock or the word that it brings in the past."""
    said = {"Authorization": f"Bearer {key}", "Content-Type": "application/json"}
    if sender.imported:
        return {**said, "Prefer": "import"}
    return {**said, "Date": format_datetime((now + timedelta(seconds=sender.clock_ahead)).astimezone(UTC), usegmt=True)}


class Surprise(NamedTuple):
    """A message that did not come to what the demo says."""

    id: object
    expected: str
    result: Mapping[str, object]


class Tally:
    """What came of the messages: how many of each outcome, and the surprises."""

    def __init__(self) -> None:
        self.outcomes: Counter[str] = Counter()
        self.surprises: list[Surprise] = []

    def add(self, batch: Batch, results: Iterable[Mapping[str, object]]) -> None:
        """Compare the results of a batch with what was expected of it."""
        for delivery, result in zip(batch.deliveries, results, strict=True):
            if result["status"] in EXPECTED[delivery.expects]:
                self.outcomes[delivery.expects] += 1
            else:
                self.surprises.append(Surprise(delivery.message["id"], delivery.expects, result))
