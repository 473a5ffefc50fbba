"""XML to elements, safely: nothing is fetched, nothing is expanded, and all of it is bounded.

The standard library's parser (expat) is told no entity and no document type: a document that declares either is refused
at its first line, before there is anything to expand. It looks for nothing outside. A document says its own encoding.
"""

import re
from codecs import BOM_UTF8
from collections.abc import Iterable
from typing import Final, NoReturn
from xml.parsers import expat

from service.domain.errors import BadDocument, TooLarge
from service.outbound.ubl.node import Node, named

MOST_BYTES: Final = 4_194_304
"""Of a document, as of any body."""
DEEPEST: Final = 32
"""Levels; a document of UBL needs a dozen."""
MOST_ELEMENTS: Final = 100_000
"""A hundred for each of the lines that a document may have."""
MOST_ATTRIBUTES: Final = 32
LONGEST_NAME: Final = 300
"""Characters of a name with its namespace. The parser tells them of every element anew, so that one namespace of a
million characters would be a hundred thousand of them."""
MOST_TEXT: Final = 10_000
"""Characters that are kept of an element: no field has more, and what is passed over may be a whole attachment."""

ENCODINGS: Final = re.compile(r"utf-8|utf-16(le|be)?|us-ascii|iso-8859-[0-9]{1,2}|windows-125[0-8]", re.IGNORECASE)
"""Those that are read: any other that Python knows the parser would take for one of a byte a character."""

UNREAD: Final = "is in an encoding that is not read here: send it in UTF-8"


def parsed(body: bytes) -> Node:
    """Read XML and give its root. TooLarge, or BadDocument with the line at fault."""
    bounded(body)
    reader = _Reader(marked=body.startswith(BOM_UTF8))
    try:
        reader.parser.Parse(body, True)  # noqa: FBT003 -- the parser's own signature: that was all
    except expat.ExpatError as error:
        what = expat.ErrorString(error.code) or str(error)
        refuse(f"is no XML at line {error.lineno}, column {error.offset + 1}: {what}")
    except (LookupError, ValueError, UnicodeError):
        refuse(UNREAD)
    if reader.root is None:  # pragma: no cover - the parser refuses a text without an element
        refuse("is empty")
    return reader.root


def bounded(body: bytes) -> None:
    """Refuse a document that is too long to be looked at."""
    if len(body) > MOST_BYTES:
        told = f"A document has at most {MOST_BYTES} bytes: divide it."
        raise TooLarge(told, MOST_BYTES)


def refuse(sentence: str) -> NoReturn:
    """Refuse a document as a whole."""
    raise BadDocument.of([("", f"The document {sentence}.")]) from None


class _Reader:
    """What the parser tells, made into elements."""

    def __init__(self, *, marked: bool) -> None:
        self.marked = marked
        self.root: Node | None = None
        self.now: Node | None = None
        self.count = 0
        self.texts: list[str] = []
        self.parser = expat.ParserCreate(namespace_separator=" ")
        self.parser.buffer_text = True
        self.parser.SetParamEntityParsing(expat.XML_PARAM_ENTITY_PARSING_NEVER)
        self.parser.XmlDeclHandler = self._declared
        self.parser.StartDoctypeDeclHandler = self._doctype
        self.parser.StartElementHandler = self._start
        self.parser.EndElementHandler = self._end
        self.parser.CharacterDataHandler = self._text

    def _declared(self, _: str, encoding: str | None, __: int) -> None:
        if encoding is not None and not ENCODINGS.fullmatch(encoding):
            refuse(UNREAD)
        if encoding is not None and self.marked and encoding.upper() != "UTF-8":
            refuse(f"begins with the mark of UTF-8, and says that it is in {encoding}: send it in UTF-8")

    def _doctype(self, *_: object) -> None:
        refuse("has a document type (<!DOCTYPE ...>), of which none is read: leave it out, with its entities")

    def _start(self, told: str, attributes: dict[str, str]) -> None:
        self.count += 1
        if len(told) > LONGEST_NAME or any(len(name) > LONGEST_NAME for name in attributes):
            refuse(f"has a name that is longer than {LONGEST_NAME} characters with its namespace")
        node = Node(named(told), self.now, {named(name): text for name, text in attributes.items()})
        if node.depth > DEEPEST:
            refuse(f"is nested deeper than {DEEPEST} levels, which no document of UBL needs")
        if self.count > MOST_ELEMENTS or len(attributes) > MOST_ATTRIBUTES:
            refuse(f"has more than {MOST_ELEMENTS} elements, or {MOST_ATTRIBUTES} attributes of one: divide it")
        if self.now is None:
            self.root = node
        else:
            self.now.children.append(node)
        self.now = node

    def _end(self, _: str) -> None:
        if self.now is not None:
            self.now.text = self.now.text.strip(" \t\r\n")
            self.now = self.now.parent

    def _text(self, text: str) -> None:
        if self.now is not None and len(self.now.text) <= MOST_TEXT:
            self.now.text += text[: MOST_TEXT + 1 - len(self.now.text)]


def texts(nodes: Iterable[Node]) -> list[str]:
    """List the texts of elements that have one."""
    return [node.text for node in nodes if node.text]
