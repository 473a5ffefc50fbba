"""A document as UBL 2.1: the same bytes for the same document, valid under the schemas of OASIS."""

from collections.abc import Iterator
from datetime import date
from decimal import Decimal
from html import escape
from typing import Any

from service.domain.money import plain, priced
from service.outbound.ubl.documents import Document
from service.outbound.ubl.table import NAMESPACES, TABLE, URN, VERSION, Branch, Leaf, Rows, path_of

NO_CHARACTER = str.maketrans({"\ufffe": "\ufffd", "\uffff": "\ufffd"})
"""The two that XML 1.0 cannot hold of those that a text may have."""


class Element:
    """An element that is being made."""

    def __init__(self, name: str) -> None:
        self.name = name
        self.attributes: dict[str, str] = {}
        self.text = ""
        self.children: list[Element] = []

    def reach(self, steps: list[str], *, anew: bool) -> "Element":
        """Go down, where there is a last child of that name into it; `anew` makes the last step a child of its own."""
        if not steps:
            return self
        name = steps[0].rstrip("*")
        last = self.children[-1] if self.children else None
        if last is None or last.name != name or steps[0] != name or (anew and len(steps) == 1):
            last = Element(name)
            self.children.append(last)
        return last.reach(steps[1:], anew=anew)

    def lines(self, depth: int) -> Iterator[str]:
        """Write it out, an element a line."""
        opened = "".join([self.name, *(f' {name}="{_safe(value)}"' for name, value in self.attributes.items())])
        indent = " " * depth
        if self.children:
            yield f"{indent}<{opened}>"
            for child in self.children:
                yield from child.lines(depth + 1)
            yield f"{indent}</{self.name}>"
        else:
            yield f"{indent}<{opened}>{_safe(self.text)}</{self.name}>" if self.text else f"{indent}<{opened}/>"


def written(document: Document) -> bytes:
    """Write a document as XML in UTF-8."""
    kind = type(document).__name__
    root = Element(kind)
    root.attributes = {"xmlns": f"{URN}{kind}-2", **{f"xmlns:{one}": NAMESPACES[one] for one in ("cac", "cbc")}}
    root.reach(["cbc:UBLVersionID"], anew=True).text = VERSION
    _fill(root, document, TABLE[type(document)])
    return "\n".join(['<?xml version="1.0" encoding="UTF-8"?>', *root.lines(0), ""]).encode()


def _fill(element: Element, value: Any, rows: Rows) -> None:  # noqa: ANN401 -- a document or a part of one
    for row in rows:
        told = getattr(value, row.field)
        for one in told if isinstance(told, tuple) else () if told is None else (told,):
            if isinstance(row, Branch):
                _fill(element.reach(path_of(row.path), anew=True), one, row.rows)
            else:
                _put(element, row, said(value, row, one))


def _put(element: Element, row: Leaf, text: str) -> None:
    *_, last = row.path.split("/")
    if last.startswith("@"):
        element.reach(path_of(row.path), anew=False).attributes[last[1:]] = text
        return
    reached = element.reach(path_of(row.path), anew=True)
    reached.text = text
    if row.scheme:
        reached.attributes["schemeID"] = row.scheme[0]


def said(value: Any, row: Leaf, one: Any) -> str:  # noqa: ANN401 -- a part of a document, and its field
    """Write a field as UBL and tables have it; `value` is what it is a field of."""
    if isinstance(one, Decimal):
        return priced(one, value.currency) if row.form == "amount" else plain(one)
    return one.isoformat() if isinstance(one, date) else str(one)


def _safe(text: str) -> str:
    return escape(text.translate(NO_CHARACTER)).replace("\r", "&#13;")
