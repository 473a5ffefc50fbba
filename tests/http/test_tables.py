"""CSV as RFC 4180 has it, read back by the standard library's reader, and safe to open in a spreadsheet."""

import csv
import io
from datetime import UTC, datetime
from typing import Any

import httpx
import pytest

from service.http import tables
from tests.http.firm import failed, issued, message


def lines(content: bytes) -> list[list[str]]:
    """Read a table as a spreadsheet would."""
    return list(csv.reader(io.StringIO(content.decode("utf-8-sig"), newline="")))


def test_a_table_is_csv_with_a_header_and_crlf() -> None:
    """RFC 4180 section 2: CRLF ends each record, quotes stand around what needs them and are doubled within."""
    items: list[dict[str, Any]] = [{"a": 'say "so"', "b": "x,y"}, {"a": "two\nlines", "b": "plain"}]
    assert tables.written(("a", "b"), items) == (b'\xef\xbb\xbfa,b\r\n"say ""so""","x,y"\r\n"two\nlines",plain\r\n')


@pytest.mark.parametrize(
    ("value", "written"),
    [
        (None, ""),
        (True, "true"),
        (False, "false"),
        (0, "0"),
        (-5, "-5"),
        (0.8727, "0.8727"),
        ("FX-0142", "FX-0142"),
        ("", ""),
        (["recall", "withdrawal"], "recall withdrawal"),
        ([], ""),
        ({"person": "p-1"}, '{"person":"p-1"}'),
        ([{"code": "x"}], '[{"code":"x"}]'),
        (datetime(2026, 3, 2, 12, tzinfo=UTC), "2026-03-02T12:00:00Z"),
        ("=1+1", "'=1+1"),
        ("+49", "'+49"),
        ("-2", "'-2"),
        ("@cell", "'@cell"),
        ("\tx", "'\tx"),
        ("\rx", "'\rx"),
        ("\nx", "'\nx"),
        (" =1+1", "' =1+1"),
        ("\u00a0\n@cell", "'\u00a0\n@cell"),
        ("\uff1d1+1", "'\uff1d1+1"),
        ("\uff0b49", "'\uff0b49"),
        ("\uff0d2", "'\uff0d2"),
        ("\uff20cell", "'\uff20cell"),
        ("\u3000\uff1d1", "'\u3000\uff1d1"),
        (" x", " x"),
        ("x =1", "x =1"),
        (("recall", "withdrawal"), "recall withdrawal"),
        (["=1", "x"], "'=1 x"),
        ("Größe", "Größe"),
    ],
)
def test_values_are_written_as_in_json_and_no_text_is_a_formula(value: Any, written: str) -> None:
    """Numbers stay numbers; a text that begins as a formula does, after blanks or not, has an apostrophe before it."""
    table = lines(tables.written(("value", "end"), [{"value": value, "end": 1}]))
    assert table == [["value", "end"], [written, "1"]]


def test_columns_reach_into_items_and_the_rest_is_one_column() -> None:
    """A column may lead into an object; what has no column of its own is kept as JSON."""
    items = [{"tag": "FX-1", "holder": {"person": "p-1"}, "size": "m"}, {"tag": "FX-2", "holder": None}]
    assert lines(tables.written(("tag", "holder.person", "*"), items)) == [
        ["tag", "holder.person", "other"],
        ["FX-1", "p-1", '{"size":"m"}'],
        ["FX-2", "", "{}"],
    ]


async def test_lists_and_the_summary_are_had_as_tables(firm: httpx.AsyncClient, administrator: dict[str, str]) -> None:
    """Units, events, histories, rejected messages and the summary come as CSV with a line for each item."""
    wanted = administrator | {"Accept": "text/csv"}
    found = {}
    for path in ("/v1/assets", "/v1/events", "/v1/assets/FX-0142/history", "/v1/rejected", "/v1/compliance"):
        answered = await firm.get(path, headers=wanted)
        assert answered.status_code == 200
        assert answered.headers["content-type"] == "text/csv; header=present; charset=utf-8"
        found[path] = lines(answered.content)
    assert {path: len(table) - 1 for path, table in found.items()} == {
        "/v1/assets": 1,
        "/v1/events": 4,
        "/v1/assets/FX-0142/history": 1,
        "/v1/rejected": 0,
        "/v1/compliance": 3,
    }
    assert {len(row) for table in found.values() for row in table} == {len(table[0]) for table in found.values()}


async def test_the_reasons_of_a_unit_are_words(firm: httpx.AsyncClient, administrator: dict[str, str]) -> None:
    """Why a unit may not be used stands in its cell as words with spaces between, not as JSON."""
    said = [issued(), message("worn", asset="FX-0142", wearer="p-3071"), failed()]
    await firm.post("/v1/events", json=said, headers=administrator)
    answered = await firm.get("/v1/assets", headers=administrator | {"Accept": "text/csv"})
    head, unit = lines(answered.content)

    assert (unit[head.index("tag")], unit[head.index("reasons")]) == (
        "FX-0142",
        "used-without-check withdrawal",
    )


async def test_a_table_goes_on_by_its_link(firm: httpx.AsyncClient, administrator: dict[str, str]) -> None:
    """A page of a table says in `Link` where the next one is; a table has no other place for it."""
    wanted = administrator | {"Accept": "text/csv"}
    first = await firm.get("/v1/events?limit=2", headers=wanted)
    second = await firm.get(first.links["next"]["url"], headers=wanted)
    assert [line[0] for line in lines(first.content)[1:]] == ["1", "2"]
    assert [line[0] for line in lines(second.content)[1:]][:1] == ["3"]
