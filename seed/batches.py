"""Chapters, lanes and batches: what may be posted side by side, and what must wait for what.

Within a chapter, what concerns the whole firm goes first and alone; then the sites go side by side in a few lanes,
each site's messages in their own order. A unit changes sites no faster than chapters follow each other, and an order
that comes out otherwise is one more case of late arrival, which changes no meaning.
"""

from collections.abc import Iterator, Sequence
from itertools import groupby, islice, pairwise

import msgspec

from seed.delivery import Delivery
from seed.keys import Keys
from seed.sites import SITES

CHAPTERS = 50
LANES = 3
BATCH = 500
LANE_OF = {site.ref: place % LANES for place, site in enumerate(SITES)}


class Batch(msgspec.Struct, frozen=True):
    """Up to 500 deliveries that travel together with one key, as an import or not."""

    key: str
    imported: bool
    deliveries: tuple[Delivery, ...]


class Chapter(msgspec.Struct, frozen=True):
    """A part of the year: what goes first, and the lanes that follow side by side."""

    first: tuple[Batch, ...]
    lanes: tuple[tuple[Batch, ...], ...]
    end: Delivery


def chapters(deliveries: Sequence[Delivery], keys: Keys) -> list[Chapter]:
    """Cut the deliveries into fifty chapters of about the same length."""
    edges = [len(deliveries) * number // CHAPTERS for number in range(CHAPTERS + 1)]
    return [_chapter(deliveries[since:until], keys) for since, until in pairwise(edges)]


def _chapter(part: Sequence[Delivery], keys: Keys) -> Chapter:
    first = [one for one in part if _of_the_firm(one)]
    lanes = [[one for one in part if not _of_the_firm(one) and LANE_OF[str(one.site)] == lane] for lane in range(LANES)]
    return Chapter(
        first=tuple(batches(first, keys)), lanes=tuple(tuple(batches(lane, keys)) for lane in lanes), end=part[-1]
    )


def _of_the_firm(delivery: Delivery) -> bool:
    """Say whether a message is about no unit and no store, so that every site may hang on it."""
    message = delivery.message
    return "asset" not in message and message["kind"] != "voided" and not str(message["kind"]).startswith("stock-")


def batches(deliveries: Sequence[Delivery], keys: Keys) -> Iterator[Batch]:
    """Cut deliveries, in their order, where the key changes and after 500."""
    for (key, imported), group in groupby(deliveries, key=lambda one: (keys.of(one), one.imported)):
        while batch := tuple(islice(group, BATCH)):
            yield Batch(key, imported, batch)
