import httpx
import pytest

from tests.http.conftest import Refusing


@pytest.mark.parametrize("path", ["/v1/sites", "/v1/compliance", "/v1/assets/FX-0142", "/health/live", "/problems"])
async def test_head_is_get_without_the_body(firm: httpx.AsyncClient, administrator: dict[str, str], path: str) -> None:
    """RFC 9110 section 9.3.2: the same status and headers, the length of the body among them, and no body."""
    got = await firm.get(path, headers=administrator)
    head = await firm.head(path, headers=administrator)
    assert (head.status_code, head.content) == (got.status_code, b"")
    same = ("content-type", "content-length", "cache-control", "vary")
    assert {name: head.headers[name] for name in same} == {name: got.headers[name] for name in same}


async def test_head_of_what_there_is_not_is_a_problem_without_a_body(
    firm: httpx.AsyncClient, administrator: dict[str, str]
) -> None:
    """What GET refuses HEAD refuses, too."""
    assert (await firm.head("/v1/assets/FX-9", headers=administrator)).status_code == 404
    assert (await firm.head("/v1/sites")).status_code == 401


async def test_head_is_conditional_as_get_is(firm: httpx.AsyncClient, administrator: dict[str, str]) -> None:
    """RFC 9110 section 13.1.2: a HEAD whose `If-None-Match` matches is answered 304."""
    etag = (await firm.get("/v1/sites/harrow-dock", headers=administrator)).headers["etag"]
    answered = await firm.head("/v1/sites/harrow-dock", headers=administrator | {"If-None-Match": etag})
    assert answered.status_code == 304


async def test_options_and_405_name_every_method_there_is(
    firm: httpx.AsyncClient, administrator: dict[str, str]
) -> None:
    """`Allow` tells the methods of an address (RFC 9110 sections 9.3.7 and 15.5.6)."""
    options = await firm.options("/v1/sites/harrow-dock", headers=administrator)
    assert options.status_code == 204
    assert options.headers["allow"] == "GET, HEAD, OPTIONS, PUT"
    refused = await firm.delete("/v1/sites/harrow-dock", headers=administrator)
    assert refused.status_code == 405
    assert sorted(refused.headers["allow"].split(", ")) == ["GET", "HEAD", "OPTIONS", "PUT"]
    posted = await firm.options("/v1/events", headers=administrator)
    assert posted.headers["allow"] == "GET, HEAD, OPTIONS, POST"


async def test_where_there_is_no_get_there_is_no_head(firm: httpx.AsyncClient, administrator: dict[str, str]) -> None:
    """An address that is only posted to takes no HEAD and does not name it."""
    path = "/v1/rejected/0198c1f2-7a10-7c3e-9b55-3f1d2ab40c01/retry"
    refused = await firm.head(path, headers=administrator)
    assert (refused.status_code, refused.headers["allow"]) == (405, "OPTIONS, POST")


@pytest.mark.parametrize(
    "path",
    [
        "/v1//assets",
        "//v1/assets",
        "/v1/assets/",
        "/v1/assets//",
        "/v1/assets/%2F",
        "/health/live/",
        "//",
        "/v1/sites//x",
    ],
)
@pytest.mark.parametrize("method", ["GET", "HEAD", "POST", "DELETE", "OPTIONS"])
async def test_an_address_has_one_spelling(refusing: Refusing, path: str, method: str) -> None:
    """What only resembles an address is none: 404 by every method, so that nothing is there under two names."""
    answered = await refusing.http.request(method, f"http://ledger.test{path}")

    assert answered.status_code == 404
    assert answered.headers["x-content-type-options"] == "nosniff"
    if method != "HEAD":
        assert answered.json()["type"] == "/problems/no-such-address"
