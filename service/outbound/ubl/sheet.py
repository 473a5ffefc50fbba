"""A document as a table (CSV, RFC 4180), for firms that write no UBL: a row a line, what is said once on every row.

A column is the way into the document, `line.` before those of its lines. Several values of one field (lines of an
address, lots) stand one below the other in their cell. Cells are guarded as in any table of the service (`cells.py`).
"""

import csv
import re
from collections import Counter
from collections.abc import Iterator
from difflib import get_close_matches
from functools import partial
from itertools import zip_longest
from typing import Any, Final

from msgspec import Struct

from service.domain import faults
from service.domain.errors import BadDocument
from service.outbound.cells import MARK, guarded, unguarded
from service.outbound.ubl.documents import DespatchAdvice, Document, Order, OrderResponse, ReceiptAdvice
from service.outbound.ubl.parsing import bounded, refuse
from service.outbound.ubl.parts import MOST_LINES
from service.outbound.ubl.plain_text import meant, sentence
from service.outbound.ubl.reading import BLANK, D, Reading, checked
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
Row = tuple[int, list[str]]
"""Its number, as a spreadsheet counts, and its cells."""


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
    return read_rows(rows_of(body), wanted).document


def read_rows(every: list[Row], wanted: type[D]) -> Reading[D]:
    """Read a document from the rows of a table. BadDocument with row and column of all that is wrong."""
    (named, head), *rows = every
    known = dict(columns(wanted))
    _refuse_columns(named, head, known)
    wrong: dict[str, str] = {}
    read = [(row, *_row(row, cells, head, known, wrong)) for row, cells in rows]
    first, merged, _ = read[0]
    for row, fields, line in read:
        for name in _unlike(merged, fields):
            wrong.setdefault(_cell_of(row, name), f"must be as in row {first}")
        if not line and not (wanted is OrderResponse and len(read) == 1):
            wrong[_cell_of(row)] = f"says nothing of a line: fill in columns of {LINE}, or leave the row out"
    lines = [(row, _filled(line, EMPTY_IN_LINES[wanted])) for row, _, line in read if line]
    found: dict[str, str] = {}
    document = checked(
        _filled(merged, PARTIES) | ({LINES: [line for _, line in lines]} if lines else {}), wanted, found
    )
    place = partial(_place, first=first, rows=[row for row, _ in lines])
    for pointer, told in found.items():
        wrong.setdefault(place(pointer), told)
    if wrong or document is None:
        raise BadDocument.of(sorted(wrong.items(), key=lambda fault: _number(fault[0]))[: faults.MOST])
    return Reading(document, place)


def _filled(fields: dict[str, Any], names: frozenset[str]) -> dict[str, Any]:
    """Put in what is needed though all of it may be empty: a table cannot show that it is there."""
    return {name: {} for name in names} | fields


def rows_of(body: bytes) -> list[Row]:
    """Give the names of the columns, and the cells below them; none that are empty. TooLarge, BadDocument."""
    bounded(body)
    try:
        text = body.decode("utf-8-sig")
        every = enumerate(csv.reader(ROW.findall(text), strict=True), 1)
        rows = [(number, row) for number, row in every if any(cell.strip(BLANK) for cell in row)]
    except UnicodeDecodeError:
        refuse("is not in UTF-8: save it as CSV in UTF-8")
    except csv.Error as error:
        refuse(f"is no CSV (RFC 4180): {error}")
    if not rows:
        refuse("is empty: send a row with the names of the columns, and rows below it")
    if len(rows[0][1]) == 1 and ";" in rows[0][1][0]:
        refuse("has semicolons between its columns: save it with commas")
    if not 1 < len(rows) <= MOST_LINES + 1:
        refuse(f"must have 1 to {MOST_LINES} rows below the names of its columns")
    return rows


def _refuse_columns(row: int, head: list[str], known: dict[str, Any]) -> None:
    """Refuse columns that there are not, and those that stand twice."""
    found = [(name, "stands twice") for name, count in Counter(head).items() if count > 1 and name in known]
    strange = [name for name in head if name not in known][: faults.MOST]
    found += [(name, _unknown(name, known, lists=name is strange[0])) for name in strange]
    if found:
        raise BadDocument.of((_cell_of(row, repr(name[:MOST_NAME])), told) for name, told in found)


def _unknown(name: str, known: dict[str, Any], *, lists: bool) -> str:
    near = get_close_matches(name[:MOST_NAME], known, 1, NEAR)
    others = f"; known are {', '.join(known)}" if lists else ""
    return f"no such column here; is {near[0]!r} meant?" if near else f"no such column here{others}"


def _row(
    row: int, cells: list[str], head: list[str], known: dict[str, Any], wrong: dict[str, str]
) -> tuple[dict[str, Any], dict[str, Any]]:
    """Read a row: what it says of the document, and of its line. What is wrong is put in by row and column."""
    if len(cells) > len(head):
        wrong[_cell_of(row, head[-1])] = "has more cells than there are columns"
    found: dict[str, str] = {}
    fields: dict[str, Any] = {}
    line: dict[str, Any] = {}
    for name, cell in zip(head, cells, strict=False):
        way, text = known[name], unguarded(cell)
        if text.strip(BLANK) and name.startswith(LINE):
            _set(line, way[1:], text, f"/{LINES}/0", found)
        elif text.strip(BLANK):
            _set(fields, way, text, "", found)
    wrong.update((_place(pointer, row, [row]), told) for pointer, told in found.items())
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


def _place(pointer: str, first: int, rows: list[int]) -> str:
    """Give row and column of a fault: `rows` are those of the lines, `first` that of what is said of the document."""
    _, *steps = pointer.split("/")
    if steps[:1] != [LINES]:
        return _cell_of(first, _column(steps))
    return _cell_of(rows[int(steps[1])], LINE + _column(steps[2:])) if len(steps) > 1 else _cell_of(first)


def _column(steps: list[str]) -> str:
    return ".".join(step for step in steps if not step.isdecimal())


def _cell_of(row: int, column: str = "") -> str:
    """Name a cell, or a row, as a spreadsheet numbers them."""
    return f"row {row}, column {column}" if column.removeprefix(LINE) else f"row {row}"


def _number(place: str) -> int:
    return int(place.removeprefix("row ").partition(",")[0])
