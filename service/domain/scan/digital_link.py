"""GS1 Digital Link: elements written as an address of the web (GS1 Digital Link standard, URI syntax).

The address is taken apart here and not by biip, which takes the leftmost key, fills up short GTINs in the path, and
passes over an empty value and a number that is no identifier; the standard's reference implementation refuses all of
it. A short GTIN in the query it fills up.
"""

import re
from collections.abc import Iterable, Iterator
from datetime import date
from itertools import chain
from urllib.parse import unquote, unquote_plus

from service.domain.scan.element_string import of_a_code, once, plain
from service.domain.scan.elements import is_identifier, only
from service.domain.scan.reading import Element, Unreadable
from service.reference.gs1 import LINK_KEYS

ADDRESS = re.compile(r"(?:https?|HTTPS?)://[^/?#\s]+(?P<path>/[^?#]*)(?:\?(?P<query>[^#]*))?(?:#.*)?", re.DOTALL)
GTIN, SHORT_GTINS = 14, (8, 12, 13)
"""Digits of a GTIN, and of those that have zeros before them (GS1 General Specifications, section 3.3.2)."""
Pair = tuple[str, str]


def is_link(text: str) -> bool:
    """Say whether an address names a key of GS1."""
    found = ADDRESS.fullmatch(text)
    return found is not None and bool(_from_key(found["path"].rstrip("/")))


def read_link(text: str, today: date) -> tuple[Element, ...]:
    """Read the elements of a Digital Link. Raises Unreadable."""
    found = ADDRESS.fullmatch(text)
    pairs = _from_key(found["path"].rstrip("/")) if found else []
    if found is None or not pairs:
        message = "no key of GS1 stands in the address"
        raise Unreadable(message)
    if found["path"].endswith("/"):
        message = "a Digital Link does not end in a slash"
        raise Unreadable(message)
    said = [*of_a_code(chain(_of_path(pairs), _of_query(found["query"] or "", pairs)))]
    names = [ai for ai, _ in said]
    if len(set(names)) < len(names):
        message = "a Digital Link says each identifier once"
        raise Unreadable(message)
    return once(only(ai, plain(value), today) for ai, value in said)


def _from_key(path: str) -> list[Pair]:
    """Give identifiers and values from the rightmost key on, as they are written; nothing where there is no key."""
    words = path.split("/")[1:]
    pairs = [(words[place], words[place + 1]) for place in range(len(words) % 2, len(words) - 1, 2)]
    keys = [place for place, (name, _) in enumerate(pairs) if name in LINK_KEYS]
    return pairs[keys[-1] :] if keys else []


def _of_path(pairs: Iterable[Pair]) -> Iterator[Pair]:
    (key, value), *qualifiers = pairs
    if qualifiers and not any(_is_part(qualifiers, chain) for chain in LINK_KEYS[key]):
        allowed = " or ".join(" ".join(f"({ai})" for ai in chain) for chain in LINK_KEYS[key]) or "nothing"
        message = f"behind ({key}) the path may have {allowed}, in this order"
        raise Unreadable(message)
    yield from ((ai, unquote(text)) for ai, text in ((key, value), *qualifiers))


def _is_part(qualifiers: Iterable[Pair], chain: tuple[str, ...]) -> bool:
    """Say whether the qualifiers stand in the order of a chain, each at most once."""
    left = iter(chain)
    return all(ai in left for ai, _ in qualifiers)


def _of_query(query: str, pairs: list[Pair]) -> Iterator[Pair]:
    (key, _), *qualifiers = pairs
    given = {ai for ai, _ in qualifiers}
    for name, equals, text in (word.partition("=") for word in query.split("&")):
        if not equals or not (name.isascii() and name.isdecimal()):
            continue
        if not is_identifier(name):
            message = f"{name[:20]!r} is no identifier, and names of numbers alone are kept for those"
            raise Unreadable(message)
        if any({*given, name} <= set(chain) for chain in LINK_KEYS[key]):
            message = f"({name}) stands in the path behind ({key}), not in the query"
            raise Unreadable(message)
        value = unquote_plus(text)
        yield name, value.zfill(GTIN) if name == "01" and len(value) in SHORT_GTINS else value
