"""Readings: what a scanned text says, in whichever form it said it."""

from datetime import date
from typing import Literal

import msgspec

Form = Literal[
    "gs1-element-string", "gs1-digital-link", "data-identifiers", "asset-label", "identification-link", "gtin", "plain"
]
MOST_ELEMENTS = 64
"""More than any code has; the reference implementation of GS1 reads no more either."""


class Unreadable(ValueError):
    """A text that has the form of a code, and breaks its rules: says what is wrong and what would be right."""


class Element(msgspec.Struct, frozen=True):
    """One identifier with its value, and the day that the value says."""

    identifier: str
    value: str
    title: str
    day: date | None = None


class Reading(msgspec.Struct, frozen=True, kw_only=True):
    """What a text says. Nothing is taken of its form from one with `faults`.

    `gtin` has 14 digits. `text` is what is looked for as it stands, where the form does not say what it is; `plain` is
    the whole text, where it may be meant as it stands as well as in its form.
    """

    form: Form
    elements: tuple[Element, ...] = ()
    gtin: str | None = None
    part_number: str | None = None
    lot: str | None = None
    serial: str | None = None
    expires: date | None = None
    tag: str | None = None
    text: str | None = None
    plain: str | None = None
    faults: tuple[str, ...] = ()

    @property
    def meanings(self) -> "tuple[Reading, ...]":
        """Give all that the text may mean: what it says in its form, and if need be itself."""
        return (self,) if self.plain is None else (self, Reading(form="plain", text=self.plain))


def said(elements: tuple[Element, ...], *identifiers: str) -> str | None:
    """Give the value of the first of the identifiers that is there."""
    found = {element.identifier: element.value for element in reversed(elements)}
    return next((found[one] for one in identifiers if one in found), None)
