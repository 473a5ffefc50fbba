"""Chapters, lanes and batches: what may be posted side by side, and what must wait for what.

Within a chapter, what concerns the whole firm goes first and alone; then some lanes go side by side. All that is
said of a unit, of what is fitted to it and of its other tags stays in one lane and in order; so does a site's stock.
Last come the acknowledgements, which look back on what the lanes brought.
"""

from collections.abc import Iterator, Sequence
from itertools import groupby, islice, pairwise
from zlib import crc32

import msgspec

from seed.delivery import Delivery
from seed.keys import Keys

CHAPTERS = 12
LANES = 12
BATCH = 500


class Batch(msgspec.Struct, frozen=True):
    """Up to 500 deliveries that travel together with one key, as an import or not."""

    key: str
    imported: bool
    deliveries: tuple[Delivery, ...]


class Chapter(msgspec.Struct, frozen=True):
    """A part of the year: what goes first, lanes that follow side by side, the longest first, and what goes last."""

    first: tuple[Batch, ...]
    lanes: tuple[tuple[Batch, ...], ...]
    last: tuple[Batch, ...]


def chapters(deliveries: Sequence[Delivery], keys: Keys) -> list[Chapter]:
    """Cut the deliveries into chapters of about the same length."""
    edges = [len(deliveries) * number // CHAPTERS for number in range(CHAPTERS + 1)]
    subjects = Subjects(deliveries)
    return [_chapter(deliveries[since:until], keys, subjects) for since, until in pairwise(edges)]


def _chapter(part: Sequence[Delivery], keys: Keys, subjects: "Subjects") -> Chapter:
    first, last = [one for one in part if _of_the_firm(one)], [one for one in part if _looks_back(one)]
    lanes: list[list[Delivery]] = [[] for _ in range(LANES)]
    for one in part:
        if not _of_the_firm(one) and not _looks_back(one):
            lanes[crc32(subjects.of(one).encode()) % LANES].append(one)
    return Chapter(
        first=tuple(batches(first, keys)),
        lanes=tuple(tuple(batches(lane, keys)) for lane in sorted(lanes, key=len, reverse=True)),
        last=tuple(batches(last, keys)),
    )


class Subjects:
    """What each message is about: a unit by the first tag that it, or what it is fitted to, ever had; else a site."""

    def __init__(self, deliveries: Sequence[Delivery]) -> None:
        self._above: dict[str, str] = {}
        self._assets: dict[str, str] = {}
        for one in deliveries:
            message = one.message
            if "asset" in message:
                self._assets[str(message["id"])] = str(message["asset"])
            if message.get("fitted_to"):
                self._above[str(message["asset"])] = str(message["fitted_to"])
            if message["kind"] == "retagged":
                self._above[str(message["new_tag"])] = str(message["asset"])
        taken_back = {str(one.message["id"]): str(one.message["event"]) for one in deliveries if "event" in one.message}
        for voiding, named in taken_back.items():
            at_stake = named
            while at_stake in taken_back:
                at_stake = taken_back[at_stake]
            self._assets[voiding] = self._assets.get(at_stake, "")

    def of(self, delivery: Delivery) -> str:
        """Name what a message is about."""
        message = delivery.message
        tag = self._assets.get(str(message["id"]))
        while tag in self._above:
            tag = self._above[tag]
        return tag or str(delivery.site)


def _of_the_firm(delivery: Delivery) -> bool:
    """Say whether a message is about no unit and no store, so that every site may hang on it."""
    message = delivery.message
    elsewhere = "asset" in message or message["kind"] == "voided" or str(message["kind"]).startswith("stock-")
    return not elsewhere and not _looks_back(delivery)


def _looks_back(delivery: Delivery) -> bool:
    """Say whether a message is about what others show."""
    return delivery.message["kind"] == "exception-acknowledged"


def batches(deliveries: Sequence[Delivery], keys: Keys) -> Iterator[Batch]:
    """Cut deliveries, in their order, where the key changes and after 500."""
    for (key, imported), group in groupby(deliveries, key=lambda one: (keys.of(one), one.imported)):
        while batch := tuple(islice(group, BATCH)):
            yield Batch(key, imported, batch)
