"""Messages of ISO/IEC 15434: an envelope with data identifiers (ISO/IEC 15418), or with elements of GS1."""

import re
from collections.abc import Iterator
from datetime import date

from service.domain.scan.days import long_day
from service.domain.scan.element_string import SEPARATOR, once
from service.domain.scan.reading import Element, Unreadable
from service.reference.data_identifiers import DATES, TITLES

BEGINS = "[)>\x1e"
RECORD, END = "\x1e", "\x04"
IDENTIFIERS, ELEMENTS = "06", "05"
"""The formats of a message that are read: with data identifiers, and with application identifiers of GS1."""
FIELD = re.compile(r"([0-9]{0,3}[A-Z])([\x20-\x7e]+)")


def contents(text: str) -> tuple[str, str]:
    """Open an envelope: the format of its message and what it says. Raises Unreadable."""
    inside = text.removeprefix(BEGINS).removesuffix(END).removesuffix(RECORD)
    form, separator, said = inside.partition(SEPARATOR)
    if not separator or form not in {IDENTIFIERS, ELEMENTS} or RECORD in said:
        message = f"an envelope with one message of format {ELEMENTS} or {IDENTIFIERS} is read, with its separators"
        raise Unreadable(message)
    return form, said


def read_fields(said: str) -> tuple[Element, ...]:
    """Read data identifiers with their values. Raises Unreadable."""
    return once(_fields(said))


def _fields(said: str) -> Iterator[Element]:
    for text in said.split(SEPARATOR):
        found = FIELD.fullmatch(text)
        if found is None:
            message = "each field is a data identifier, as 1T, and its value: scan the code again"
            raise Unreadable(message)
        yield Element(found[1], found[2], TITLES.get(found[1], ""), _day(found[1], found[2]))


def _day(identifier: str, value: str) -> date | None:
    if identifier not in DATES:
        return None
    try:
        return long_day(value)
    except ValueError as error:
        message = f"{identifier} is no day there is: it is written YYYYMMDD, as 20290531"
        raise Unreadable(message) from error
