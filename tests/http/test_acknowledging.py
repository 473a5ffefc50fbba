"""Acknowledging a row: whoever names one that there is not is told so, and it is recorded all the same."""

from typing import Any
from uuid import uuid4

import httpx
import pytest

from service.domain.finding import REPORTS
from tests.http.firm import Headers, checked, failed
from tests.http.keys import Keys
from tests.http.plant import (
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

NO_SUCH_ROW = [{"code": "no-such-row"}]


async def told(http: httpx.AsyncClient, headers: Headers, said: Any) -> Any:
    """Post an event that is recorded or repeated, and give the conflicts that its sender is told."""
    answered = await http.post("/v1/events", json=said, headers=headers)
    assert answered.status_code in {200, 201}, answered.text
    return answered.json()["conflicts"]


@pytest.mark.parametrize("name", list(REPORTS))
async def test_a_row_that_there_is_may_be_acknowledged(
    plant: httpx.AsyncClient, keys: Keys, administrator: Headers, name: str
) -> None:
    """A row of each report, also one that time alone makes, is found by a key of its site and of all; by no other."""
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
    wrong = failed("EX-1", colour="red", occurred_at=on(2, 9), site="harrow-dock")
    assert (await plant.post("/v1/events", json=wrong, headers=administrator)).status_code == 422
    near, far = [await keys.make("site-lead", [site]) for site in ("harrow-dock", "east-yard")]
    rows = await report(plant, administrator, name)
    assert rows
    for row in (rows[0], rows[-1]):
        said = [looked_at(row, name, site=site) for site in ("harrow-dock", "harrow-dock", "east-yard")]
        assert await told(plant, administrator, said[0]) == []
        assert await told(plant, near, said[1]) == []
        assert await told(plant, far, said[2]) == NO_SUCH_ROW
        assert await told(plant, far, said[2]) == NO_SUCH_ROW


async def test_a_use_that_time_alone_made_may_be_acknowledged(plant: httpx.AsyncClient, administrator: Headers) -> None:
    """A unit that stays in issue is used on each further day, without any event: such a row is there like any other."""
    await post(plant, administrator, handed_out(2, 7))
    newest, *_ = await report(plant, administrator, "used-without-check")

    assert newest["at"] > on(31, 23)
    assert await told(plant, administrator, looked_at(newest, "used-without-check")) == []


@pytest.mark.parametrize(
    "row", ["EX-1:7", "0198c1f2-7a10-7c3e-9b55-3f1d2ab40dff", "00000000-0000-0000-0000-000000000000"]
)
async def test_a_row_that_there_is_not_cannot_be(plant: httpx.AsyncClient, administrator: Headers, row: str) -> None:
    """What names no row is recorded with the conflict, which the log keeps."""
    said = looked_at({"row": row}, "used-without-check")
    assert await told(plant, administrator, said) == NO_SUCH_ROW

    kept = await plant.get(f"/v1/events/{said['id']}", headers=administrator)
    assert (kept.json()["row"], kept.json()["conflicts"]) == (row, NO_SUCH_ROW)


async def test_a_row_is_named_to_the_letter_and_in_its_own_report(
    plant: httpx.AsyncClient, administrator: Headers
) -> None:
    """A row of another report is none, and neither is one whose name is written otherwise: neither has an effect."""
    await post(plant, administrator, handed_out(2, 7), worn(2, 8, id="0198c1f2-7a10-7c3e-9b55-3f1d2ab40d02"))
    row = {"row": "0198c1f2-7a10-7c3e-9b55-3f1d2ab40d02"}

    assert await told(plant, administrator, looked_at(row, "used-without-check")) == []
    assert await told(plant, administrator, looked_at(row, "conflicting-history")) == NO_SUCH_ROW
    assert await told(plant, administrator, looked_at({"row": row["row"].upper()}, "used-without-check")) == NO_SUCH_ROW


async def test_a_row_is_looked_for_among_what_came_before(plant: httpx.AsyncClient, administrator: Headers) -> None:
    """In a batch an acknowledgement is compared with what stands before it, not after it; its effect is the same."""
    use = worn(2, 8)
    row = {"row": use["id"]}
    before, after = looked_at(row, "used-without-check"), looked_at(row, "used-without-check")
    said = [handed_out(2, 7), before, use, after, handed_in(2, 9)]
    results = (await plant.post("/v1/events", json=said, headers=administrator)).json()["results"]

    assert [result["id"] for result in results] == [one["id"] for one in said]
    assert [result["status"] for result in results] == [201] * 5
    assert [result["conflicts"] for result in results] == [[], NO_SUCH_ROW, [], [], []]
    assert [result["seq"] - results[0]["seq"] for result in results] == [0, 1, 2, 3, 4]
    known = {one["row"]: one["acknowledged"] for one in await report(plant, administrator, "used-without-check")}
    assert known[use["id"]]["seq"] == results[1]["seq"]


async def test_a_row_that_went_is_there_no_more(plant: httpx.AsyncClient, administrator: Headers) -> None:
    """Late evidence that covers a use takes its row away: to acknowledge it then has no effect."""
    use = worn(2, 8)
    await post(plant, administrator, handed_out(2, 7), use)
    await post(plant, administrator, checked("EX-1", occurred_at=on(2, 7)))

    assert await told(plant, administrator, looked_at({"row": use["id"]}, "used-without-check")) == NO_SUCH_ROW


async def test_an_acknowledgement_tried_again_is_compared_again(
    plant: httpx.AsyncClient, keys: Keys, administrator: Headers
) -> None:
    """Refused for a site that its key does not go to, it is compared with the reach of whoever tries it again."""
    await post(plant, administrator, handed_out(2, 7), use := worn(2, 8))
    lead = await keys.make("site-lead", ["east-yard"])
    kept = []
    for row in (use["id"], str(uuid4())):
        said = looked_at({"row": row}, "used-without-check", site="harrow-dock")
        refused = await plant.post("/v1/events", json=said, headers=lead)
        assert refused.status_code == 403
        kept.append(refused.json()["rejected"])
    again = [await plant.post(f"/v1/rejected/{one}/retry", headers=administrator) for one in kept]

    assert [answered.status_code for answered in again] == [201, 201]
    assert [answered.json()["conflicts"] for answered in again] == [[], NO_SUCH_ROW]
