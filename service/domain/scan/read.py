"""Reading a scan: which form it has, and what it says.

A symbology identifier at the beginning (ISO/IEC 15424: `]d2`) says what sort of code it was. Without one, a text counts
as an element string of GS1 where a separator is in it, which nothing else of ours has but an envelope, or where it
begins with an identifier in brackets or with (01) and 14 digits. Whatever else begins with digits may be a lot or a
number of any sort, and is looked for as it stands. If all of it is an element string besides, with a key whose check
digit is right (a number of chance has that one time in ten), it may be meant as either, and is looked for as both. So
is what only its beginning shows to be GS1, right or wrong: a tag may begin so, and its label says no more than it.
"""

import re
from collections.abc import Callable
from datetime import date
from typing import Final
from uuid import UUID

from msgspec.structs import replace

from service.domain.check_digit import is_checked
from service.domain.scan import pairing
from service.domain.scan.data_identifiers import BEGINS, ELEMENTS, contents, read_fields
from service.domain.scan.digital_link import is_link, read_link
from service.domain.scan.element_string import SEPARATOR, read_printed, read_string
from service.domain.scan.label import tag_of
from service.domain.scan.reading import Element, Form, Reading, Unreadable, said
from service.reference.data_identifiers import EXPIRY, LOTS, PARTS, SERIALS

SYMBOLOGY: Final = re.compile(r"\][A-Za-z][0-9A-Za-z]")
GS1: Final = frozenset({"]C1", "]e0", "]d2", "]Q3", "]J1"})
"""GS1-128, GS1 DataBar, GS1 DataMatrix, GS1 QR Code, GS1 DotCode."""
RETAIL: Final = frozenset({"]E0", "]E4"})
"""EAN-13 with UPC, EAN-8: the whole code is a GTIN."""
GTIN_LENGTHS: Final = frozenset({8, 12, 13, 14})
PRINTED: Final = re.compile(r"\([0-9]{2,4}\)")
UNMARKED: Final = re.compile(r"01[0-9]{14}")
KEYS: Final = ("00", "01", "02")
"""What names a logistic unit, goods, and the goods in such a unit, each with a check digit."""
KEYED: Final = re.compile(r"0[0-2][0-9]{14}")
"""What any of them needs: without it no code is read as if it had one."""
SECURE: Final = "https://"


def read(scan: str, today: date, organisation: UUID) -> Reading:
    """Read what a reader gave; what is wrong with it stands in the reading."""
    text = scan.strip(" \t\r\n")
    marked = SYMBOLOGY.match(text)
    symbology, text = (marked[0], text[3:]) if marked else ("", text)
    if symbology in RETAIL:
        return _retail(text)
    if symbology in GS1 or PRINTED.match(text) or (not marked and UNMARKED.match(text)):
        return _marked(text, today, sure=symbology in GS1)
    if text.startswith(BEGINS):
        return _envelope(text, today)
    if tag := tag_of(text, organisation):
        return Reading(form="asset-label", tag=tag)
    if is_link(text):
        return _gs1("gs1-digital-link", lambda: read_link(text, today))
    return _otherwise(text, today, marked=marked is not None)


def _string(text: str, today: date) -> Reading:
    return _gs1("gs1-element-string", lambda: _elements(text, today))


def _marked(text: str, today: date, *, sure: bool) -> Reading:
    """Read an element string; what is one by its beginning alone may be meant as it stands as well."""
    found = _string(text, today)
    return found if sure or SEPARATOR in text else replace(found, plain=text)


def _otherwise(text: str, today: date, *, marked: bool) -> Reading:
    """Read a text that has no form by its beginning."""
    if SEPARATOR in text:
        return _string(text, today)
    if text.startswith(SECURE):
        return Reading(form="identification-link", text=text)
    either = None if marked else _either(text, today)
    return either or Reading(form="plain", text=text)


def _either(text: str, today: date) -> Reading | None:
    """Read an element string that nothing marks as one, and that may be meant as it stands as well; None if none is."""
    if not KEYED.search(text):
        return None
    found = _string(text, today)
    return None if found.faults or said(found.elements, *KEYS) is None else replace(found, plain=text)


def _elements(text: str, today: date) -> tuple[Element, ...]:
    return read_printed(text, today) if PRINTED.match(text) else read_string(text.removeprefix(SEPARATOR), today)


def _retail(text: str) -> Reading:
    if len(text) not in GTIN_LENGTHS or not is_checked(text):
        return Reading(form="gtin", faults=("the check digit of the GTIN is wrong: scan the code again",))
    return Reading(form="gtin", gtin=text.zfill(14))


def _gs1(form: Form, elements: Callable[[], tuple[Element, ...]]) -> Reading:
    try:
        found = elements()
    except Unreadable as error:
        return Reading(form=form, faults=(str(error),))
    if faults := tuple(pairing.faults(found)):
        return Reading(form=form, elements=found, faults=faults)
    pieces, returnable = said(found, "8006", "8026"), said(found, "8003")
    days = {one.identifier: one.day for one in found}
    return Reading(
        form=form,
        elements=found,
        gtin=said(found, "01", "02", "03") or (pieces and pieces[:14]),
        lot=said(found, "10"),
        serial=said(found, "21", "8004") or (returnable and returnable[14:]) or None,
        expires=days.get("17") or days.get("7003"),
    )


def _envelope(text: str, today: date) -> Reading:
    try:
        form, inside = contents(text)
        if form == ELEMENTS:
            return _gs1("gs1-element-string", lambda: read_string(inside, today))
        found = read_fields(inside)
    except Unreadable as error:
        return Reading(form="data-identifiers", faults=(str(error),))
    return Reading(
        form="data-identifiers",
        elements=found,
        part_number=said(found, *PARTS),
        lot=said(found, *LOTS),
        serial=said(found, *SERIALS),
        expires=next((one.day for one in found if one.identifier == EXPIRY), None),
    )
