"""Element strings of GS1, as a reader gives them and as they are printed below a code."""

import re
from collections.abc import Iterable, Iterator
from datetime import date
from typing import TypeVar

from service.domain.check_digit import CSET_82
from service.domain.scan.elements import first, only
from service.domain.scan.reading import MOST_ELEMENTS, Element, Unreadable

T = TypeVar("T")

SEPARATOR = "\x1d"
"""What readers give for FNC1 (GS1 General Specifications, section 7.8)."""
PRINTED = re.compile(r"\(([0-9]{2,4})\)((?:\\\(|[^(\\])+)")


def read_string(text: str, today: date) -> tuple[Element, ...]:
    """Read what follows the first FNC1 of a code. Raises Unreadable."""
    return once(_elements(text, today))


def _elements(text: str, today: date) -> Iterator[Element]:
    if not text:
        message = "nothing is in the code"
        raise Unreadable(message)
    rest = plain(text)
    while rest:
        found, rest, ends = first(rest, today)
        if ends and rest and not rest.startswith(SEPARATOR):
            message = f"({found.identifier}) is too long, or the separator behind it is missing"
            if rest[0] not in CSET_82:
                message = f"({found.identifier}) may not have the character {rest[0]!r}"
            raise Unreadable(message)
        rest = rest.removeprefix(SEPARATOR)
        yield found


def read_printed(text: str, today: date) -> tuple[Element, ...]:
    r"""Read what is printed below a code: identifiers in brackets; one within a value is written `\(`. Unreadable."""
    if not re.fullmatch(f"(?:{PRINTED.pattern})+", plain(text)):
        message = "identifiers stand in brackets, each with its value behind it, as in (01)09521101530018(10)L2411"
        raise Unreadable(message)
    return once(only(ai, value.replace("\\(", "("), today) for ai, value in PRINTED.findall(text))


def plain(text: str) -> str:
    """Give a text that has no characters beyond ASCII: digits of every script would do for numbers. Unreadable."""
    if not text.isascii():
        message = "a code of GS1 has no characters beyond ASCII: the reader is set for another keyboard"
        raise Unreadable(message)
    return text


def once(found: Iterator[Element]) -> tuple[Element, ...]:
    """Give elements, each identifier once: said again it must say the same. Raises Unreadable."""
    every: dict[str, Element] = {}
    for one in of_a_code(found):
        if every.setdefault(one.identifier, one) != one:
            message = f"({one.identifier}) is said twice, and not alike: scan one code at a time"
            raise Unreadable(message)
    return tuple(every.values())


def of_a_code(found: Iterable[T]) -> Iterator[T]:
    """Give what is found one by one, so that no more is looked at than any code has. Raises Unreadable."""
    for number, one in enumerate(found):
        if number == MOST_ELEMENTS:
            message = f"more than {MOST_ELEMENTS} elements are in no code"
            raise Unreadable(message)
        yield one
