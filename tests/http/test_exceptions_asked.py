"""Asking for exceptions: who may, what is acknowledged, page by page, and as it was known."""

from typing import Any

import httpx
import pytest

from service.domain.finding import REPORTS
from tests.http.doors import FOREIGN
from tests.http.firm import Headers, checked, failed, message
from tests.http.keys import Keys
from tests.http.plant import (
    EMPTY,
    counted,
    handed_in,
    handed_out,
    looked_at,
    on,
    ordered_unasked,
    orders,
    plant,
    post,
    report,
    shelved,
    worn,
)

__all__ = ["plant"]


async def test_a_row_is_acknowledged(plant: httpx.AsyncClient, keys: Keys, administrator: Headers) -> None:
    """It stays listed and shows who looked at it, when and why, in the one report alone, until that is taken back."""
    await post(plant, administrator, handed_out(2, 7), worn(2, 8), handed_in(2, 9))
    first, second = await report(plant, administrator, "used-without-check")
    said = looked_at(first, "used-without-check", site="harrow-dock", occurred_at=on(5, 9))
    lead = await keys.make("site-lead", ["harrow-dock"])
    answered = await plant.post("/v1/events", json=said, headers=lead)
    rows = await report(plant, administrator, "used-without-check")

    shown = {"by": "p-8", "at": on(5, 9), "reason": "spoken with the wearer", "seq": answered.json()["seq"]}
    assert rows == [{**first, "acknowledged": shown}, second]
    for asked, expected in (("true", [first["row"]]), ("false", [second["row"]])):
        found = await report(plant, administrator, "used-without-check", acknowledged=asked)
        assert [row["row"] for row in found] == expected
    assert (await counted(plant, administrator))["used-without-check"] == {
        "rows": 2, "open": 1, "sites": [{"site": "harrow-dock", "rows": 2, "open": 1}],
    }  # fmt: skip
    assert [
        row["acknowledged"] for row in await report(plant, administrator, "used-without-check", as_at=on(5, 8))
    ] == [
        None,
        None,
    ]
    await post(plant, administrator, message("voided", event=said["id"], reason="the wrong row"))
    assert await report(plant, administrator, "used-without-check") == [first, second]


async def test_who_has_no_authority_acknowledges_nothing(
    plant: httpx.AsyncClient, keys: Keys, administrator: Headers
) -> None:
    """A lead of another site changes nothing, and a site's device is refused; a report that there is not is, too."""
    await post(plant, administrator, handed_out(2, 7), handed_in(2, 9))
    [row] = await report(plant, administrator, "used-without-check")
    foreign = looked_at(row, "used-without-check", site="east-yard")
    own = looked_at(row, "used-without-check", site="harrow-dock")
    lead = await plant.post("/v1/events", json=foreign, headers=await keys.make("site-lead", ["east-yard"]))
    kiosk = await plant.post("/v1/events", json=own, headers=await keys.make("site-app", ["harrow-dock"]))
    unknown = await plant.post("/v1/events", json=looked_at(row, "used-at-all"), headers=administrator)

    assert (lead.status_code, kiosk.status_code) == (201, 403)
    assert [one["acknowledged"] for one in await report(plant, administrator, "used-without-check")] == [None]
    assert (await counted(plant, administrator))["used-without-check"]["open"] == 1
    assert await report(plant, administrator, "used-without-check", acknowledged="true") == []
    assert (unknown.status_code, unknown.json()["errors"][0]["pointer"]) == (422, "#/report")


async def test_rows_are_paged(plant: httpx.AsyncClient, administrator: Headers) -> None:
    """Page by page every row comes once, newest first, also what time alone made; the pages share their moments."""
    await post(plant, administrator, handed_out(2, 7), handed_in(4, 7), handed_out(5, 7))
    asked: dict[str, Any] = {"limit": 2, "as_at": on(7, 12)}
    pages: list[Any] = []
    after = None
    while not pages or after is not None:
        params = asked if after is None else asked | {"after": after}
        answered = await plant.get("/v1/exceptions/used-without-check", params=params, headers=administrator)
        pages.append(answered.json())
        after = pages[-1]["next"]

    assert [[row["at"] for row in page["rows"]] for page in pages] == [
        [on(7, 0), on(6, 0)],
        [on(5, 7), on(4, 0)],
        [on(3, 0), on(2, 7)],
    ]
    assert len({page["known_at"] for page in pages}) == 1
    everything = await report(plant, administrator, "used-without-check", as_at=on(7, 12))
    assert [row for page in pages for row in page["rows"]] == everything


async def test_what_was_found_is_found_again_as_it_was_known(plant: httpx.AsyncClient, administrator: Headers) -> None:
    """Late evidence changes the rows, and not those of an answer asked again by its two moments."""
    await post(plant, administrator, handed_out(2, 7), worn(2, 8), handed_in(3, 7))
    moment = {"as_at": on(3, 12)}
    first = await plant.get("/v1/exceptions/used-without-check", params=moment, headers=administrator)
    counts = await plant.get("/v1/exceptions", params=moment, headers=administrator)
    await post(plant, administrator, checked("EX-1", occurred_at=on(2, 7)))
    known = {"known_at": first.json()["known_at"]}
    again = await plant.get("/v1/exceptions/used-without-check", params=moment | known, headers=administrator)
    known = {"known_at": counts.json()["known_at"]}
    recounted = await plant.get("/v1/exceptions", params=moment | known, headers=administrator)

    assert [row["at"] for row in first.json()["rows"]] == [on(3, 0), on(2, 8), on(2, 7)]
    assert (again.content, recounted.content) == (first.content, counts.content)
    assert [row["at"] for row in await report(plant, administrator, "used-without-check")] == [on(3, 0)]


@pytest.mark.parametrize("name", list(REPORTS))
async def test_a_report_shows_what_a_key_may_see(
    plant: httpx.AsyncClient, keys: Keys, administrator: Headers, name: str
) -> None:
    """Every report has a row of harrow-dock here: a key of another site or firm sees none, and asks for it in vain."""
    await post(
        plant,
        administrator,
        handed_out(2, 7),
        worn(2, 8),
        checked("EX-1", occurred_at=on(2, 9), airflow_lpm=100.0),
        worn(2, 10),
        *shelved(2, 7),
        handed_out(3, 7),
        *orders(),
    )
    await post(plant, await keys.make("integrator"), ordered_unasked())
    wrong = failed("EX-1", colour="red", occurred_at=on(2, 9))
    refused = await plant.post("/v1/events", json=wrong, headers=administrator)
    assert refused.status_code == 422
    near = await keys.make("site-lead", ["harrow-dock"])
    far = await keys.make("site-lead", ["east-yard"])
    foreign = await keys.make("manager", organisation=FOREIGN)
    moment = {} if name == "rejected-reports" else {"as_at": "2026-04-20T12:00:00Z"}
    seen = await report(plant, near, name, **moment)

    assert {row["site"] for row in seen} == {"harrow-dock"}
    assert seen == await report(plant, administrator, name, **moment)
    assert seen == await report(plant, administrator, name, site="harrow-dock", **moment)
    assert await report(plant, administrator, name, site="east-yard", **moment) == []
    for headers in (far, foreign):
        assert await report(plant, headers, name, **moment) == []
        assert (await counted(plant, headers, **moment))[name] == EMPTY
        for path in ("/v1/exceptions", f"/v1/exceptions/{name}"):
            vain = await plant.get(path, params={"site": "harrow-dock"}, headers=headers)
            assert vain.status_code == 404


@pytest.mark.parametrize("path", ["/v1/exceptions", "/v1/exceptions/used-without-check"])
@pytest.mark.parametrize("role", ["site-app", "integrator", "worker-representative"])
async def test_reports_are_not_for_everyone(http: httpx.AsyncClient, keys: Keys, path: str, role: Any) -> None:
    """They name persons: devices, integrators and representatives get a 403."""
    answered = await http.get(path, headers=await keys.make(role))

    assert (answered.status_code, answered.json()["type"]) == (403, "/problems/forbidden")


async def test_a_report_that_there_is_not(http: httpx.AsyncClient, administrator: Headers) -> None:
    """An unknown report is a 404 that names those there are, a stretch that ends before it begins a 400.

    So is a cursor of another report.
    """
    unknown = await http.get("/v1/exceptions/worn-out", headers=administrator)
    backwards = {"from": on(3, 0), "to": on(2, 0)}
    for path in ("/v1/exceptions", "/v1/exceptions/used-without-check"):
        refused = await http.get(path, params=backwards, headers=administrator)
        assert (refused.status_code, refused.json()["errors"][0]["parameter"]) == (400, "to")
    assert (unknown.status_code, unknown.json()["type"]) == (404, "/problems/not-found")
    assert unknown.json()["detail"] == (
        "There is no such report, or none that this key may see: the reports are rejected-reports, "
        "used-while-not-to-be-used, used-without-check, passed-against-readings, overdue-examination, "
        "expired-stock, stock-below-nothing, ordered-without-approval, order-without-proposal, ordered-twice, "
        "order-overdue, approved-not-ordered, ordered-in-another-unit, received-without-order, conflicting-history."
    )
