"""Marks: strings that belong to one place of one firm, so that wherever one turns up it tells whose it is.

A mark is a valid reference and a valid text, reads the same in JSON, CSV, addresses and headers, and says its firm, its
room and its sort: "mark.ours.dock.person.holder".

    room    dock, yard   of that site alone      both     of the two sites, since a unit went from one to the other
            all          of the whole firm, for every key of it
            office       of the whole firm, for no key that is bound to sites
    sort    person       refers to a person      text     free text      fact    anything else
"""

import base64
import binascii
import re
from typing import Literal, NamedTuple, TypeAlias

import httpx

Firm: TypeAlias = Literal["ours", "theirs"]
Room: TypeAlias = Literal["dock", "yard", "both", "all", "office"]
Sort: TypeAlias = Literal["person", "text", "fact"]

MARK = re.compile(r"mark\.(ours|theirs)\.(dock|yard|both|all|office)\.(person|text|fact)\.[a-z0-9-]+", re.IGNORECASE)
WORDS: dict[Room, tuple[str, ...]] = {"yard": ("contamination", "worn-while-quarantined", "released-without-ground")}
"""Words of the closed lists that nothing makes but what a site has on record of its own: there they are marks, too."""
PACKED = re.compile(rb"[A-Za-z0-9_-]{16,}")
"""What may be a cursor or anything else in base64url, in which a mark would not be seen."""


class Mark(NamedTuple):
    """A mark that was found."""

    firm: str
    room: str
    sort: str
    text: str


def mark(firm: Firm, room: Room, sort: Sort, name: str) -> str:
    """Make a mark."""
    return f"mark.{firm}.{room}.{sort}.{name}"


def marks_in(content: bytes) -> set[Mark]:
    """Find the marks in bytes, those packed in base64 too."""
    every = [content, *(opened for word in PACKED.findall(content) if (opened := unpacked(word)))]
    found = (match for one in every for match in MARK.finditer(one.decode("utf-8", "replace")))
    return {Mark(match[1].lower(), match[2].lower(), match[3].lower(), match[0].lower()) for match in found}


def words_in(content: bytes, firm: Firm) -> set[Mark]:
    """Find the words that tell of one site, as marks of it."""
    found = [(room, word) for room, words in WORDS.items() for word in words if word.encode() in content]
    return {Mark(firm, room, "fact", word) for room, word in found}


def unpacked(word: bytes) -> bytes:
    """Open base64url; empty where it is none."""
    try:
        return base64.urlsafe_b64decode(word + b"=" * (-len(word) % 4))
    except (binascii.Error, ValueError):
        return b""


def everything(answered: httpx.Response) -> bytes:
    """Give all that an answer says: its headers and its body."""
    return b"\n".join([*(b": ".join(header) for header in answered.headers.raw), b"", answered.content])
