from typing import Any

import httpx
import pytest

from service.http.negotiation import choose

JSON, CSV, TEXT = "application/json", "text/csv", "text/plain"
OFFERS = (JSON, CSV, TEXT)


@pytest.mark.parametrize(
    ("accept", "chosen"),
    [
        (None, JSON),
        ("", JSON),
        ("*/*", JSON),
        ("application/*", JSON),
        ("text/csv", CSV),
        ("TEXT/CSV", CSV),
        ("text/csv; header=present", CSV),
        ("text/*", CSV),
        ("text/plain, text/csv", CSV),
        ("text/csv;q=0.9, application/json", JSON),
        ("text/csv, application/json;q=0.5", CSV),
        ("application/json;q=0, */*", CSV),
        ("*/*;q=0.1, text/plain;q=0.2", TEXT),
        ("text/*;q=0.3, text/csv;q=0.1, application/json;q=0.2", TEXT),
        ("text/html, application/xhtml+xml, */*;q=0.8", JSON),
        ("application/json;q=0", None),
        ("text/html", None),
        ("image/*", None),
        ("*/*;q=0", None),
        ("nonsense", None),
        ("text/csv;q=many", CSV),
        ("text/csv;q=1.5, application/json;q=0.9", CSV),
    ],
)
def test_form_is_the_one_wanted_most(accept: str | None, chosen: str | None) -> None:
    """The closest range decides for each form (RFC 9110 section 12.5.1); of equals the first offer is taken."""
    assert choose(accept, OFFERS) == chosen


async def test_form_that_is_not_offered_is_refused_with_those_that_are(
    http: httpx.AsyncClient, administrator: dict[str, str]
) -> None:
    """406 names the forms there are; the problem itself is JSON all the same."""
    answered = await http.get("/v1/compliance", headers=administrator | {"Accept": "application/pdf"})
    assert answered.status_code == 406
    assert answered.headers["content-type"] == "application/problem+json"
    told: dict[str, Any] = answered.json()
    assert told["type"] == "/problems/not-acceptable"
    assert told["offered"] == ["application/json", "text/csv", "text/plain"]


async def test_nothing_is_recorded_for_an_answer_that_cannot_be_given(
    http: httpx.AsyncClient, administrator: dict[str, str]
) -> None:
    """The form is settled before anything is done."""
    posted = {"id": "0198c1f2-7a10-7c3e-9b55-3f1d2ab40c01", "kind": "nothing"}
    answered = await http.post("/v1/events", json=posted, headers=administrator | {"Accept": "text/csv"})
    assert answered.status_code == 406
    assert (await http.get("/v1/rejected", headers=administrator)).json()["rejected"] == []


async def test_answers_say_that_they_depend_on_what_is_accepted(
    http: httpx.AsyncClient, administrator: dict[str, str]
) -> None:
    """Every answer varies by the form asked for and by the key, and is its asker's alone."""
    answered = await http.get("/v1/compliance", headers=administrator)
    assert answered.headers["vary"] == "Accept, Authorization"
    assert answered.headers["cache-control"] == "private, no-cache"
    assert answered.headers["x-content-type-options"] == "nosniff"
