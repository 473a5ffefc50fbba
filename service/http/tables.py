"""Lists as tables that a spreadsheet opens: CSV (RFC 4180) with a header line, CRLF and the mark of UTF-8.

A column is a way into an item: "holder.person" is its `person` within `holder`. A text that a spreadsheet might take
for a formula has an apostrophe before it; numbers are left as they are.
"""

import csv
import io
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

import msgspec

from service.outbound.cells import MARK, guarded

CSV_MEDIA = "text/csv; header=present"
"""The framework adds the charset to whatever is text."""

REST = "*"
"""A column of what an item has beside the other columns, as JSON."""


def written(columns: Sequence[str], items: Iterable[object]) -> bytes:
    """Write items as CSV below their columns, values in the forms that JSON gives them."""
    head = _lines([["other" if column == REST else column for column in columns]])
    return MARK.encode() + head + rows(columns, items)


def rows(columns: Sequence[str], items: Iterable[object]) -> bytes:
    """Write more items of a table whose columns are written already."""
    return _lines(_row(columns, msgspec.to_builtins(item)) for item in items)


def _lines(cells: Iterable[Iterable[str | int | float]]) -> bytes:
    text = io.StringIO(newline="")
    csv.writer(text, lineterminator="\r\n").writerows(cells)
    return text.getvalue().encode()


def _row(columns: Sequence[str], item: Mapping[str, Any]) -> list[str | int | float]:
    return [cell(_rest(item, columns) if column == REST else reach(item, column)) for column in columns]


def reach(item: Any, column: str) -> Any:  # noqa: ANN401 -- any JSON value
    """Follow a way into an item; None where it leads nowhere."""
    for step in column.split("."):
        if not isinstance(item, Mapping):
            return None
        item = item.get(step)
    return item


def _rest(item: Mapping[str, Any], columns: Sequence[str]) -> dict[str, Any]:
    named = {column.partition(".")[0] for column in columns}
    return {name: value for name, value in item.items() if name not in named}


def cell(value: Any) -> str | int | float:  # noqa: ANN401 -- any JSON value
    """Write one value: nothing for null, true or false, words with spaces between, whatever else is no text as JSON."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, int | float):
        return value
    if isinstance(value, list | tuple) and all(isinstance(one, str) for one in value):
        value = " ".join(value)
    text = value if isinstance(value, str) else msgspec.json.encode(value).decode()
    return guarded(text)
