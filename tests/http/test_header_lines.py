"""A header that is a list may come in several lines, which are one list (RFC 9110 section 5.3)."""

import httpx
import pytest

from tests.http.conftest import Refusing
from tests.http.firm import message, site
from tests.http.keys import Keys

Headers = dict[str, str]
Lines = list[tuple[str, str]]


def lines(headers: Headers, *more: tuple[str, str]) -> Lines:
    """Give headers line by line."""
    return [*headers.items(), *more]


@pytest.mark.parametrize(
    ("first", "second", "media"),
    [
        ("text/csv", "application/json;q=0.5", "text/csv"),
        ("text/csv;q=0.5", "application/json", "application/json"),
        ("image/png", "text/csv", "text/csv"),
    ],
)
async def test_every_line_says_what_is_accepted(
    firm: httpx.AsyncClient, administrator: Headers, first: str, second: str, media: str
) -> None:
    """The form wanted most is found in whichever line it stands, with the weights of all of them."""
    answered = await firm.get("/v1/assets", headers=lines(administrator, ("accept", first), ("accept", second)))

    assert (answered.status_code, answered.headers["content-type"].partition(";")[0]) == (200, media)


@pytest.mark.parametrize("path", ["/v1/sites/harrow-dock", "/v1/assets/FX-0142"])
async def test_every_line_says_what_is_known(firm: httpx.AsyncClient, administrator: Headers, path: str) -> None:
    """A read is a 304 where any line of `If-None-Match` has its tag, the first or the second."""
    etag = (await firm.get(path, headers=administrator)).headers["etag"]
    known, other = ("if-none-match", etag), ("if-none-match", '"999"')

    asked = [
        await firm.get(path, headers=lines(administrator, *told))
        for told in ((known, other), (other, known), (other, other))
    ]
    assert [answered.status_code for answered in asked] == [304, 304, 200]


async def test_every_line_says_what_a_change_starts_from(firm: httpx.AsyncClient, administrator: Headers) -> None:
    """A change is recorded where any line of `If-Match` has the newest version's tag."""
    said = {name: value for name, value in site("harrow-dock", name="Harrow").items() if name not in {"kind", "site"}}
    etag = (await firm.get("/v1/sites/harrow-dock", headers=administrator)).headers["etag"]

    async def put(*told: str) -> int:
        named = lines(administrator, *(("if-match", one) for one in told))
        return (await firm.put("/v1/sites/harrow-dock", json=said, headers=named)).status_code

    assert [await put('"998"', '"999"'), await put('"999"', etag)] == [412, 200]


@pytest.mark.parametrize(
    ("told", "status", "detail"),
    [
        (("respond-async", "import"), 403, "Only a key of role 'administrator' may send 'Prefer: import'."),
    ],
)
async def test_every_line_says_what_is_preferred(
    firm: httpx.AsyncClient, keys: Keys, told: tuple[str, str], status: int, detail: str
) -> None:
    """A preference in a second line of `Prefer` is judged like one in the first."""
    named = lines(await keys.make("site-lead"), *(("prefer", one) for one in told))
    answered = await firm.post("/v1/events", json=message("registered"), headers=named)

    assert (answered.status_code, answered.json()["detail"]) == (status, detail)


async def test_no_line_hides_how_a_body_is_packed(firm: httpx.AsyncClient, administrator: Headers) -> None:
    """A body packed once and not at all is packed."""
    packed = lines(administrator, ("content-encoding", "identity"), ("content-encoding", "gzip"))
    answered = await firm.post("/v1/events", json=message("registered"), headers=packed)

    assert (answered.status_code, answered.json()["detail"]) == (
        415,
        "A body may have one coding of gzip, zstd, identity as its Content-Encoding, or none.",
    )


async def test_lines_are_as_long_as_their_list(firm: httpx.AsyncClient, administrator: Headers) -> None:
    """The 1,000 characters that a header may have are those of all its lines together, with what joins them."""

    async def ask(first: int, second: int) -> int:
        named = [("if-none-match", f'"{"7" * (length - 2)}"') for length in (first, second)]
        return (await firm.get("/v1/sites/harrow-dock", headers=lines(administrator, *named))).status_code

    assert [await ask(499, 499), await ask(500, 499)] == [200, 400]


@pytest.mark.parametrize("name", ["Authorization", "Content-Type", "Date", "Last-Event-ID", "Ledger-Position"])
@pytest.mark.parametrize("alike", [True, False])
async def test_what_says_one_thing_is_said_once(refusing: Refusing, name: str, alike: bool) -> None:
    """A second line of a header that is no list is refused, even if it says the same, before it is known who asks."""
    http, administrator = refusing
    said = {"Content-Type": "application/json", "Date": "Sun, 06 Nov 1994 08:49:37 GMT"}
    first = (administrator | said).get(name, administrator["authorization"] if name == "Authorization" else "1")
    told = lines({}, (name, first), (name, first if alike else f"{first}0"))
    posted = await http.post("/v1/events", content=b"{}", headers=told)
    read = await http.get("/problems", headers=told)

    for answered in (posted, read):
        assert (answered.status_code, answered.json()["type"]) == (400, "/problems/bad-parameter")
        assert answered.json()["errors"][0]["parameter"] == name
