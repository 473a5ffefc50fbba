"""Naming: what a proposal is called, and the events by which it is acted on.

A need is a site, an item, and the number of its proposals that were acted on before. Its proposal is named after it
alone, so that it has one name for as long as nobody acts, whatever the quantity comes to, and whoever asks. Whose name
it is can only be found by trying the pairs of site and item that there are.
"""

import re
from collections.abc import Collection, Iterable
from functools import lru_cache
from hashlib import sha256
from itertools import count
from typing import Literal, NamedTuple
from uuid import UUID, uuid5

PREFIX = "pr-"
DIGITS = 20
"""Hexadecimal digits: 80 bits, so that among a million names the chance of a clash is below one in 10^12."""
RECEIPT = re.compile(rf"{PREFIX}[0-9a-f]{{{DIGITS}}}-[0-9]+")
Act = Literal["reorder-approved", "order-placed", "order-cancelled"]


class Need(NamedTuple):
    """The nth need of an item at a site, from 0."""

    site: str
    item: str
    n: int


@lru_cache(maxsize=2**16)
def proposal_id(site: str, item: str, n: int) -> str:
    """Name the proposal of a need: a reference of 23 characters, from length-prefixed texts."""
    parts = [part.encode() for part in (site, item, str(n))]
    told = b"".join(len(part).to_bytes(4) + part for part in parts)
    return PREFIX + sha256(told).hexdigest()[:DIGITS]


def receipt_number(proposal: str, seq: int) -> str:
    """Name what came of the order of a proposal by the newest of it."""
    return f"{proposal}-{seq}"


def is_receipt_number(number: str) -> bool:
    """Say whether a receipt has its number from here, so that what it says is on record."""
    return RECEIPT.fullmatch(number) is not None


def act_id(organisation: UUID, proposal: str, act: Act, voided: Collection[UUID] = (), order: str = "") -> UUID:
    """Name the event by which a proposal is acted on: the first name of its kind that was not taken back.

    Only what calls an order off says which, since one that was ordered twice may be called off twice.

    The name follows from what is done alone, so that whoever does it at the same time does the same.
    """
    names = (uuid5(organisation, f"{proposal}/{act}/{nth}/{order}") for nth in count())
    return next(name for name in names if name not in voided)


def needs_of(pairs: Iterable[tuple[str, str]], named: Collection[str], wanted: Collection[str] = ()) -> dict[str, Need]:
    """Find the needs behind proposals that events ever named, and behind those wanted, among pairs of site and item.

    Of each pair the first need that nothing names ends the search: a proposal is there once the one before was acted
    on, and what was voided has its name still.
    """
    found: dict[str, Need] = {}
    for site, item in pairs:
        n = 0
        while (name := proposal_id(site, item, n)) in named:
            found[name] = Need(site, item, n)
            n += 1
        if name in wanted:
            found[name] = Need(site, item, n)
    return found
