"""A document as a table (CSV, RFC 4180), for firms that write no UBL: a row a line, what is said once on every row.

A column is the way into the document, `line.` before those of its lines. Several values of one field (lines of an
address, lots) stand one below the other in their cell. Cells are guarded as in any table of the service (`cells.py`).
"""

import csv
import re
from collections import Counter
from collections.abc import Iterator
from difflib import get_close_matches
from itertools import islice, zip_longest
from typing import Any, Final

from msgspec import Struct

from service.domain import faults
from service.domain.errors import BadDocument
from service.outbound.cells import MARK, guarded, unguarded
from service.outbound.ubl.documents import DespatchAdvice, Document, Order, OrderResponse, ReceiptAdvice
from service.outbound.ubl.parsing import bounded, refuse
from service.outbound.ubl.parts import MOST_LINES
from service.outbound.ubl.plain_text import meant, sentence
from service.outbound.ubl.reading import BLANK, D, checked
from service.outbound.ubl.table import TABLE, Branch, Leaf, Rows
from service.outbound.ubl.writing import said

LINES: Final = "lines"
LINE: Final = "line."
NEAR: Final = 0.8
MOST_NAME: Final = 40
"""Characters of a name that may be a column's misspelt."""
ROW: Final = re.compile(r"[^\n]*\n|[^\n]+")
"""What the reader of tables is given at a time; other marks than a line feed end no row."""
PARTIES: Final = frozenset({"buyer", "supplier"})
EMPTY_IN_LINES: Final[dict[type[Struct], frozenset[str]]] = {
    OrderResponse: frozenset({"item"}),
    DespatchAdvice: frozenset({"item"}),
    Order: frozenset(),
    ReceiptAdvice: frozenset(),
}
"""What a document must have, if with nothing in it."""

Column = tuple[str, tuple[Leaf | Branch, ...]]
"""Its name, and the rows of the table that lead to its field."""


def columns(wanted: type[Struct]) -> list[Column]:
    """List the columns of a document."""
    return list(_columns(TABLE[wanted], "", ()))


def _columns(rows: Rows, prefix: str, way: tuple[Leaf | Branch, ...]) -> Iterator[Column]:
    for row in rows:
        if isinstance(row, Leaf):
            yield prefix + row.field, (*way, row)
        else:
            inner = LINE if row.field == LINES and not way else f"{prefix}{row.field}."
            yield from _columns(row.rows, inner, (*way, row))


def sheet(document: Document) -> bytes:
    """Write a document as a table."""
    listed = columns(type(document))
    told = [[guarded(_cell(document, line, name, way)) for name, way in listed] for line in document.lines or (None,)]
    text: list[str] = []
    csv.writer(_Into(text), lineterminator="\r\n").writerows([[name for name, _ in listed], *told])
    return (MARK + "".join(text)).encode()


class _Into:
    """Where the writer of tables writes."""

    def __init__(self, text: list[str]) -> None:
        self.write = text.append


def _cell(document: Document, line: Any, name: str, way: tuple[Leaf | Branch, ...]) -> str:  # noqa: ANN401 -- a line of any sort
    texts = _texts(line, way[1:]) if name.startswith(LINE) else _texts(document, way)
    return "\n".join(texts) if any(texts) else ""


def _texts(value: Any, way: tuple[Leaf | Branch, ...]) -> list[str]:  # noqa: ANN401 -- a part of a document
    """List the texts of a field: one, or as many as its list has, empty where one has none."""
    row, *rest = way
    told = getattr(value, row.field, None)
    if isinstance(row, Leaf):
        if isinstance(told, tuple):
            return list(told)
        return ["" if told is None else said(value, row, told)]
    if isinstance(told, tuple):
        return [text for one in told for text in _texts(one, tuple(rest))]
    return _texts(told, tuple(rest))


def read_sheet(body: bytes, wanted: type[D]) -> D:
    """Read a document from a table. TooLarge, or BadDocument with row and column of all that is wrong."""
    head, rows = _rows(body)
    known = dict(columns(wanted))
    _refuse_columns(head, known)
    wrong: dict[str, str] = {}
    read = [_row(row, head, known, f"/{LINES}/{number}", wrong) for number, row in enumerate(rows)]
    merged = dict(read[0][0])
    for number, (fields, _) in enumerate(read[1:], 1):
        wrong.update((f"/{LINES}/{number}/={name}", "must be as in the row above") for name in _unlike(merged, fields))
    lines = [_filled(line, EMPTY_IN_LINES[wanted]) for _, line in read if line]
    document = checked(_filled(merged, PARTIES) | ({LINES: lines} if lines else {}), wanted, wrong)
    if wrong or document is None:
        raise BadDocument.of([(_place(pointer), told) for pointer, told in islice(wrong.items(), faults.MOST)])
    return document


def _filled(fields: dict[str, Any], names: frozenset[str]) -> dict[str, Any]:
    """Put in what is needed though all of it may be empty: a table cannot show that it is there."""
    return {name: {} for name in names} | fields


def _rows(body: bytes) -> tuple[list[str], list[list[str]]]:
    """Give the names of the columns, and the cells below them."""
    bounded(body)
    try:
        text = body.decode("utf-8-sig")
        head, *rows = [row for row in csv.reader(ROW.findall(text), strict=True) if any(row)]
    except UnicodeDecodeError:
        refuse("is not in UTF-8: save it as CSV in UTF-8")
    except csv.Error as error:
        refuse(f"is no CSV (RFC 4180): {error}")
    except ValueError:
        refuse("is empty: send a row with the names of the columns, and rows below it")
    if len(head) == 1 and ";" in head[0]:
        refuse("has semicolons between its columns: save it with commas")
    if not 0 < len(rows) <= MOST_LINES:
        refuse(f"must have 1 to {MOST_LINES} rows below the names of its columns")
    return head, rows


def _refuse_columns(head: list[str], known: dict[str, Any]) -> None:
    """Refuse columns that there are not, and those that stand twice."""
    found = [(name, "stands twice") for name, count in Counter(head).items() if count > 1 and name in known]
    strange = [name for name in head if name not in known][: faults.MOST]
    found += [(name, _unknown(name, known, lists=name is strange[0])) for name in strange]
    if found:
        raise BadDocument.of((f"row 1, column {name[:MOST_NAME]!r}", told) for name, told in found)


def _unknown(name: str, known: dict[str, Any], *, lists: bool) -> str:
    near = get_close_matches(name[:MOST_NAME], known, 1, NEAR)
    others = f"; known are {', '.join(known)}" if lists else ""
    return f"no such column here; is {near[0]!r} meant?" if near else f"no such column here{others}"


def _row(
    cells: list[str], head: list[str], known: dict[str, Any], pointer: str, wrong: dict[str, str]
) -> tuple[dict[str, Any], dict[str, Any]]:
    """Read a row: what it says of the document, and of its line."""
    if len(cells) > len(head):
        wrong[f"{pointer}/={head[-1]}"] = "has more cells than there are columns"
    fields: dict[str, Any] = {}
    line: dict[str, Any] = {}
    for name, cell in zip(head, cells, strict=False):
        way, text = known[name], unguarded(cell)
        if text.strip(BLANK) and name.startswith(LINE):
            _set(line, way[1:], text, pointer, wrong)
        elif text.strip(BLANK):
            _set(fields, way, text, "", wrong)
    return fields, line


def _set(into: dict[str, Any], way: tuple[Leaf | Branch, ...], text: str, pointer: str, wrong: dict[str, str]) -> None:
    """Put a text where its way leads."""
    row, *rest = way
    at = f"{pointer}/{row.field}"
    if isinstance(row, Leaf):
        into[row.field] = text.split("\n") if row.times == "listed" else meant(text.strip(BLANK), row.form)
        if into[row.field] is None:
            wrong[at] = sentence(row.form)
    elif row.many:
        every: list[dict[str, Any]] = into.setdefault(row.field, [])
        for number, (one, part) in enumerate(zip_longest(list(every), text.split("\n"))):
            every.extend([] if one is not None else [{}])
            if part:
                _set(every[number], tuple(rest), part, f"{at}/{number}", wrong)
    else:
        _set(into.setdefault(row.field, {}), tuple(rest), text, at, wrong)


def _unlike(first: dict[str, Any], other: dict[str, Any], prefix: str = "") -> Iterator[str]:
    """Name the fields in which two rows say different things of their document."""
    for name in sorted(first.keys() | other.keys()):
        one, two = first.get(name), other.get(name)
        if isinstance(one, dict) and isinstance(two, dict):
            yield from _unlike(one, two, f"{prefix}{name}.")
        elif one != two:
            yield f"{prefix}{name}"


def _place(pointer: str) -> str:
    """Give row and column of a fault: the first row below the names is row 2."""
    _, *steps = pointer.split("/")
    row = 2
    prefix = ""
    if steps[:1] == [LINES] and len(steps) > 1:
        row, prefix, steps = int(steps[1]) + 2, LINE, steps[2:]
    if steps and steps[0].startswith("="):
        return f"row {row}, column {steps[0][1:]}"
    column = ".".join(step for step in steps if not step.isdecimal())
    return f"row {row}, column {prefix}{column}".removesuffix(", column ") if column else f"row {row}"
