from datetime import UTC, datetime, timedelta
from typing import Any
from uuid import UUID

import http_sf
import httpx
import pytest
from litestar import Litestar, get

from service.domain.errors import QuotaExceeded
from service.http import roles
from service.http.answers import Answer, answer
from service.http.lifecycle import End
from service.http.manners import mannerly
from service.http.quota import SECOND, Left, Quota
from service.http.request import Asked

KEY = UUID("0198c1f2-0000-7000-8000-0000000000a1")
OTHER = UUID("0198c1f2-0000-7000-8000-0000000000a2")
SINCE = datetime(2023, 6, 30, 23, 59, 59, tzinfo=UTC)
GONE = datetime(2028, 12, 31, 23, 59, 59, tzinfo=UTC)


def test_quota_is_used_up_and_comes_back_evenly() -> None:
    """Of sixty requests a minute all may come at once, and after that one a second."""
    now = [100 * SECOND]
    quota = Quota(60, lambda: now[0])
    assert [quota.take(KEY) for _ in range(3)] == [Left(59, 1), Left(58, 2), Left(57, 3)]
    assert [quota.take(KEY) for _ in range(57)][-1] == Left(0, 60)
    with pytest.raises(QuotaExceeded) as refused:
        quota.take(KEY)
    assert refused.value.retry_after == 1
    assert quota.take(OTHER) == Left(59, 1)
    now[0] += 2 * SECOND
    assert quota.take(KEY) == Left(1, 59)
    now[0] += 3600 * SECOND
    assert quota.take(KEY) == Left(59, 1)


@pytest.mark.parametrize("up", [1, 200_000 * SECOND + 123_456_789, 36_000_000 * SECOND + 1], ids=str)
def test_quota_is_whole_however_long_the_machine_has_been_up(up: int) -> None:
    """Each of 30,000 requests a minute takes 2 ms: all of them may come at once, and each leaves one less."""
    quota = Quota(30_000, lambda: up)
    assert [quota.take(KEY).requests for _ in range(30_000)] == list(range(29_999, -1, -1))
    with pytest.raises(QuotaExceeded):
        quota.take(KEY)


def test_quota_is_told_in_the_fields_of_the_draft() -> None:
    """draft-ietf-httpapi-ratelimit-headers-11, sections 3 and 4, read by a library of structured fields (RFC 9651)."""
    told = Quota(100).headers(Left(50, 30))
    assert told == {"RateLimit-Policy": '"key";q=100;w=60', "RateLimit": '"key";r=50;t=30'}
    assert http_sf.parse(told["RateLimit-Policy"].encode(), tltype="list") == [("key", {"q": 100, "w": 60})]
    assert http_sf.parse(told["RateLimit"].encode(), tltype="list") == [("key", {"r": 50, "t": 30})]


def test_end_of_a_route_is_told_in_the_forms_of_both_standards() -> None:
    """The dates of RFC 9745 section 2.1 (a structured date) and RFC 8594 section 3 (a date of HTTP)."""
    told = End(deprecated_at=SINCE, gone_at=GONE, page="/docs/ends").headers()
    assert told == {
        "Deprecation": "@1688169599",
        "Sunset": "Sun, 31 Dec 2028 23:59:59 GMT",
        "Link": '</docs/ends>; rel="deprecation"; type="text/html"',
    }
    assert http_sf.parse(told["Deprecation"].encode(), tltype="item") == (SINCE, {})


def test_route_cannot_be_gone_before_it_is_deprecated() -> None:
    """RFC 8594 and RFC 9745 want the sunset no earlier."""
    with pytest.raises(ValueError, match="gone before it is deprecated"):
        End(deprecated_at=SINCE, gone_at=SINCE - timedelta(seconds=1), page="/docs/ends")


@get("/old", may=roles.ANYONE, ends=End(deprecated_at=SINCE, gone_at=GONE, page="/docs/ends"))
async def old(request: Asked) -> Answer:  # noqa: ARG001 -- every handler takes the request
    """Answer as long as the route lives."""
    return answer({}, headers={"Cache-Control": "no-store"})


async def test_route_that_ends_says_so_and_keeps_what_it_says_itself() -> None:
    """The headers of its end stand in every answer of such a route; its own word on caching is left alone."""
    app: Any = mannerly(Litestar([old], openapi_config=None))
    async with httpx.AsyncClient(transport=httpx.ASGITransport(app), base_url="http://ledger.test") as client:
        answered = await client.get("/old")
    assert answered.headers["deprecation"] == "@1688169599"
    assert answered.headers["sunset"] == "Sun, 31 Dec 2028 23:59:59 GMT"
    assert answered.headers["cache-control"] == "no-store"


async def test_every_answer_to_a_key_tells_its_quota(http: httpx.AsyncClient, administrator: dict[str, str]) -> None:
    """A key learns what is left of its quota; who has no key learns nothing."""
    answered = await http.get("/v1/sites", headers=administrator)
    assert answered.headers["ratelimit-policy"] == '"key";q=30000;w=60'
    assert answered.headers["ratelimit"] == '"key";r=29999;t=1'
    assert "ratelimit" not in (await http.get("/v1/sites")).headers


@pytest.mark.parametrize(
    ("path", "name"),
    [("/v1/assets", "assets"), ("/v1/assets/FX-0142/history", "history"), ("/v1/exceptions", "exceptions"),
     ("/v1/compliance", "compliance")],
)  # fmt: skip
async def test_a_table_is_saved_under_a_name_of_its_own(
    firm: httpx.AsyncClient, administrator: dict[str, str], path: str, name: str
) -> None:
    """Who opens a table in a browser is offered a file named for what it is; JSON has no such header."""
    table = await firm.get(path, headers=administrator | {"accept": "text/csv"})
    plain = await firm.get(path, headers=administrator)
    assert table.headers["content-disposition"] == f'inline; filename="{name}.csv"'
    assert "content-disposition" not in plain.headers
