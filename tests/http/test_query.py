"""Questions in a query string."""

from typing import Annotated, Literal

import msgspec
import pytest
from litestar import get
from msgspec import Meta

from service.domain.words import Instant, Ref, Subject
from service.http.answers import Answer, answer
from service.http.query import read
from service.http.request import Asked
from tests.http.doors import client

REF = "must be a reference: 1 to 40 of the characters A-Z a-z 0-9 . _ -"
INSTANT = "must be an instant such as 2026-03-02T05:51:40+00:00; a leap second (:60) is not taken, send :59"
NAIVE = "must say its offset from UTC, as in 2026-03-02T05:51:40+00:00 or 2026-03-02T05:51:40Z"

UNKNOWN = "There is no such parameter here. Known: as_at, from, limit, site, standing, kind, subject."
DAY = "a date alone is not enough: add a time and an offset from UTC, as in 2026-03-02T05:51:40Z"
SUBJECT = (
    "must be a sort and a name, such as asset:FX-0142; the sorts are asset, person, item, site, model, task, policy, "
    "instrument, event, order, proposal, recall"
)


class Question(msgspec.Struct, frozen=True, kw_only=True):
    """One parameter of each sort."""

    as_at: Instant | None = None
    since: Instant | None = msgspec.field(default=None, name="from")
    limit: Annotated[int, Meta(ge=1, le=1_000)] = 100
    site: Ref | None = None
    standing: Literal["in-date", "overdue"] | None = None
    kind: Annotated[str, Meta(pattern="^(issued|returned)$")] | None = None
    subject: Subject | None = None


@get("/asked", asks=Question)
async def asked(request: Asked) -> Answer:
    """Say back what was understood."""
    return answer(read(request, Question))


@get("/unasked")
async def unasked(request: Asked) -> Answer:  # noqa: ARG001 - routes are given it
    """Ask nothing."""
    return answer({})


@pytest.mark.parametrize(
    ("query", "understood"),
    [
        ("", {}),
        ("as_at=2026-03-02T12:00:00Z", {"as_at": "2026-03-02T12:00:00Z"}),
        ("as_at=2026-03-02T12:00:00%2B05:30", {"as_at": "2026-03-02T12:00:00+05:30"}),
        ("from=2026-03-02T12:00:00.25-08:00", {"from": "2026-03-02T12:00:00.250000-08:00"}),
        ("limit=1", {"limit": 1}),
        ("limit=1000&site=harrow-dock", {"limit": 1000, "site": "harrow-dock"}),
        ("standing=overdue&kind=issued", {"standing": "overdue", "kind": "issued"}),
    ],
)
async def test_a_question_is_understood(query: str, understood: dict[str, object]) -> None:
    """Each parameter is read as what it means, and one that is left out has its default."""
    nothing = {"as_at": None, "from": None, "limit": 100, "site": None, "standing": None, "kind": None, "subject": None}
    async with client(asked) as http:
        answered = await http.get(f"/asked?{query}")

    assert (answered.status_code, answered.json()) == (200, nothing | understood)


@pytest.mark.parametrize(
    ("query", "parameter", "detail"),
    [
        (
            "colour=red",
            "colour",
            UNKNOWN,
        ),
        ("site=a&site=b", "site", "This parameter may be given once."),
        ("as_at=2026-03-02T12:00:00", "as_at", NAIVE),
        ("as_at=2026-03-02T12:00:00+00:00", "as_at", f"{INSTANT}; in an address its '+' is written %2B"),
        ("as_at=2026-03-02", "as_at", DAY),
        ("from=2026-03-02", "from", DAY),
        ("subject=FX-0142", "subject", SUBJECT),
        ("subject=thing:FX-0142", "subject", SUBJECT),
        ("as_at=1772452800", "as_at", INSTANT),
        ("as_at=2026-02-30T12:00:00Z", "as_at", INSTANT),
        ("as_at=0001-01-01T00:00:00Z", "as_at", "must lie in the years 1900 to 2200"),
        ("as_at=9999-12-31T23:59:59Z", "as_at", "must lie in the years 1900 to 2200"),
        ("as_at=", "as_at", INSTANT),
        ("limit=0", "limit", "must be at least 1"),
        ("limit=-1", "limit", "must be at least 1"),
        ("limit=1001", "limit", "must be at most 1000"),
        ("limit=1.5", "limit", "must be a whole number"),
        ("limit=1e2", "limit", "must be a whole number"),
        ("limit=%C2%B2", "limit", "must be a whole number"),
        ("limit=" + "9" * 5_000, "limit", "must be a whole number"),
        ("site=", "site", REF),
        ("site=a%00b", "site", REF),
        ("site=a%0A", "site", REF),
        ("standing=fine", "standing", "must be one of in-date, overdue"),
        ("kind=drunk", "kind", "must be one of issued, returned"),
    ],
)
async def test_what_is_not_understood_is_refused(query: str, parameter: str, detail: str) -> None:
    """A parameter that is unknown, repeated or wrong is named, with what to send instead."""
    async with client(asked) as http:
        answered = await http.get(f"/asked?{query}")

    assert answered.status_code == 400
    assert answered.json()["type"] == "/problems/bad-parameter"
    assert answered.json()["errors"] == [{"detail": detail, "parameter": parameter}]
    assert answered.json()["detail"] == f"{parameter}: {detail}"


async def test_all_faults_are_told_at_once() -> None:
    """Three wrong parameters give three faults, and the sentence on the whole counts them."""
    async with client(asked) as http:
        answered = await http.get("/asked?colour=red&limit=0&site=%20")

    assert [fault["parameter"] for fault in answered.json()["errors"]] == ["colour", "limit", "site"]
    assert answered.json()["detail"] == "3 things are wrong; each stands under 'errors' with its place."


async def test_parameters_given_twice_are_all_named() -> None:
    """Of several repeated parameters each is a fault."""
    async with client(asked) as http:
        answered = await http.get("/asked?limit=1&limit=2&site=a&site=b&kind=issued")

    twice = "This parameter may be given once."
    assert answered.json()["errors"] == [
        {"detail": twice, "parameter": "limit"},
        {"detail": twice, "parameter": "site"},
    ]


@pytest.mark.parametrize("query", ["site=%FF", "&".join(f"p{number}=1" for number in range(51))])
async def test_a_query_that_cannot_be_read_is_refused(query: str) -> None:
    """A query that is not UTF-8, or has more than 50 parameters, is refused as a whole."""
    async with client(asked) as http:
        answered = await http.get(f"/asked?{query}")

    assert answered.status_code == 400
    assert answered.json()["errors"][0]["parameter"] == "query"


async def test_a_route_without_a_question_takes_no_parameter() -> None:
    """A parameter is refused also where a route asks for none."""
    async with client(unasked) as http:
        refused, answered = await http.get("/unasked?verbose=1"), await http.get("/unasked")

    assert refused.json()["errors"] == [
        {"detail": "There is no such parameter here. Known: none.", "parameter": "verbose"}
    ]
    assert (refused.status_code, answered.status_code) == (400, 200)
