"""CSV as RFC 4180 has it, read back by the standard library's reader, and safe to open in a spreadsheet."""

import csv
import io
from datetime import UTC, datetime
from typing import Any

import httpx
import pytest

from service.http import paging, tables
from service.http.openapi import described
from service.reports import REPORTS
from tests.http.firm import failed, issued, message, registered
from tests.http.plant import handed_in, handed_out, plant, post, worn
from tests.http.recall_firm import opened

__all__ = ["plant"]


def lines(content: bytes) -> list[list[str]]:
    """Read a table as a spreadsheet would."""
    return list(csv.reader(io.StringIO(content.decode("utf-8-sig"), newline="")))


def told(content: bytes) -> list[dict[str, str]]:
    """Read a table, each line by its columns."""
    return list(csv.DictReader(io.StringIO(content.decode("utf-8-sig"), newline="")))


def timeless(content: bytes) -> list[dict[str, str]]:
    """Read a table without the moments of its answer."""
    return [{name: text for name, text in line.items() if name not in {"as_at", "known_at"}} for line in told(content)]


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


POLICY = {"by": "p-1", "reason": "agreed", "values": {"cover": "PT8H"}}
WEBHOOK = "0198c1f2-b000-7000-8000-0000000000d1"
DOCUMENTS = {"/v1/reorders/{ref}", "/v1/reorders/{ref}/receipt"}
"""Tables of one document each, which are asked for elsewhere."""
LINES = {
    "/v1/assets": 1,
    "/v1/assets/FX-0142/history": 1,
    "/v1/compliance": 3,
    "/v1/compliance/assets": 1,
    "/v1/consumption": 0,
    "/v1/devices": 0,
    "/v1/events": 6,
    "/v1/exceptions": len(REPORTS),
    "/v1/exceptions/used-without-check": 0,
    "/v1/instruments": 0,
    "/v1/items": 0,
    "/v1/models": 1,
    "/v1/policies": 1,
    "/v1/recalls": 1,
    "/v1/recalls/rc-1/history": 1,
    "/v1/recalls/rc-1/impact": 1,
    "/v1/recalls/rc-1/people": 0,
    "/v1/recalls/rc-1/sites": 1,
    "/v1/recalls/rc-1/stock": 0,
    "/v1/rejected": 0,
    "/v1/sites": 2,
    "/v1/reorders": 0,
    "/v1/stock": 0,
    "/v1/stock/ledger?site=harrow-dock&item=pf-170": 0,
    "/v1/tasks": 0,
    "/v1/webhooks": 1,
    f"/v1/webhooks/{WEBHOOK}/dead-letters": 0,
    f"/v1/webhooks/{WEBHOOK}/deliveries": 0,
}


def test_every_list_is_had_as_a_table() -> None:
    """All operations that give a list or a summary offer CSV, and all of them are asked for it below."""
    told = {path: methods["get"] for path, methods in described()["paths"].items() if "get" in methods}
    lists = {path for path, one in told.items() if "limit" in {asked["name"] for asked in one.get("parameters", ())}}
    tables_at = {path for path, one in told.items() if "text/csv" in one["responses"]["200"]["content"]}

    assert tables_at == lists | {"/v1/compliance", "/v1/exceptions"} | DOCUMENTS
    named = {"FX-0142": "tag", "rc-1": "ref", "used-without-check": "report", WEBHOOK: "webhook_id"}
    asked_for = {
        "/".join(f"{{{named[part]}}}" if part in named else part for part in path.partition("?")[0].split("/"))
        for path in LINES
    }
    assert asked_for == tables_at - DOCUMENTS


async def test_lists_and_the_summary_are_had_as_tables(firm: httpx.AsyncClient, administrator: dict[str, str]) -> None:
    """Every list, the summary and the counts of exceptions come as CSV with a line for each item."""
    wanted = administrator | {"Accept": "text/csv"}
    found = {}
    await firm.put("/v1/policies/pre-use-check", json=POLICY, headers=administrator)
    await firm.post("/v1/events", json=opened({"hours": 2}), headers=administrator)
    wish = {"id": WEBHOOK, "url": "https://erp.example.com/", "state": "paused"}
    await firm.post("/v1/webhooks", json=wish, headers=administrator)
    for path in LINES:
        answered = await firm.get(path, headers=wanted)
        assert answered.status_code == 200
        assert answered.headers["content-type"] == "text/csv; header=present; charset=utf-8"
        found[path] = lines(answered.content)
    assert {path: len(table) - 1 for path, table in found.items()} == LINES
    assert all(len({len(row) for row in table}) == 1 for table in found.values())


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


@pytest.mark.parametrize("path", ["/v1/events", "/v1/assets", "/v1/sites", "/v1/rejected", "/v1/compliance/assets"])
async def test_a_table_is_whole_where_no_limit_is_asked_for(
    firm: httpx.AsyncClient, administrator: dict[str, str], monkeypatch: pytest.MonkeyPatch, path: str
) -> None:
    """A table has every row, though it is read a row at a time, and the same as if it was read at once."""
    more = [registered(f"FX-{nth}") for nth in range(5)] + [message("worn", asset="FX-0142") for _ in range(3)]
    await firm.post("/v1/events", json=more, headers=administrator)
    wanted = administrator | {"Accept": "text/csv"}
    at_once = await firm.get(path, headers=wanted)
    monkeypatch.setattr(paging, "ROWS_AT_ONCE", 1)
    by_and_by, head = await firm.get(path, headers=wanted), await firm.head(path, headers=wanted)

    expected = {"/v1/events": 9, "/v1/assets": 6, "/v1/sites": 2, "/v1/rejected": 3, "/v1/compliance/assets": 6}
    assert len(lines(by_and_by.content)) - 1 == expected[path]
    assert timeless(by_and_by.content) == timeless(at_once.content)
    if path == "/v1/compliance/assets":
        assert len({line["known_at"] for line in told(by_and_by.content)}) == 1
    assert (head.status_code, head.content) == (200, b"")
    assert head.headers["content-type"] == by_and_by.headers["content-type"]


async def test_exceptions_are_counted_in_a_table(plant: httpx.AsyncClient, administrator: dict[str, str]) -> None:
    """The counts of a report are a line for each site and one of all, with the moments they are of."""
    await post(plant, administrator, handed_out(2, 7), worn(2, 8), handed_in(2, 9))
    answered = await plant.get("/v1/exceptions", headers=administrator | {"Accept": "text/csv"})
    table = told(answered.content)
    counted = [
        tuple(line[name] for name in ("report", "line", "site", "rows", "open"))
        for line in table
        if line["report"] in {"used-without-check", "rejected-reports"}
    ]

    assert counted == [
        ("rejected-reports", "total", "", "0", "0"),
        ("used-without-check", "site", "harrow-dock", "2", "2"),
        ("used-without-check", "total", "", "2", "2"),
    ]
    assert {(line["projection"], line["judged_to"]) for line in table} == {("false", "9")}
    assert all(line["as_at"] and line["known_at"] for line in table)


async def test_definitions_are_a_table_of_what_they_say(firm: httpx.AsyncClient, administrator: dict[str, str]) -> None:
    """A line of a site has its fields by name, and what is told deeper as JSON in the last column."""
    answered = await firm.get("/v1/sites", headers=administrator | {"Accept": "text/csv"})
    first, _ = csv.DictReader(io.StringIO(answered.content.decode("utf-8-sig"), newline=""))

    assert {name: first[name] for name in ("site", "name", "profile", "time_zone", "employer.name")} == {
        "site": "east-yard",
        "name": "East-Yard",
        "profile": "uk",
        "time_zone": "Europe/London",
        "employer.name": "Harrow Fabrication",
    }
    assert '"working_days":["mon","tue","wed","thu","fri","sat","sun"]' in first["other"]
