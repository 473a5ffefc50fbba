"""What a sender says about its message in headers."""

import httpx
import pytest
from litestar import post

from service.domain.caller import Role
from service.http.answers import Answer, answer
from service.http.preferences import handling, sent_at
from service.http.request import Asked
from tests.http.doors import a_caller, as_caller, client


@post("/said")
async def said(request: Asked) -> Answer:
    """Say back the clock, whether it is an import, and whether it is to be handled strictly."""
    return answer([sent_at(request), *handling(request)])


async def told(headers: dict[str, str], role: Role = "administrator") -> tuple[int, object]:
    """Give the status, and what was said back or the type of the problem."""
    async with client(said, admit=as_caller(a_caller(role))) as http:
        answered = await http.post("/said", headers=headers)
    body = answered.json()
    return answered.status_code, body if isinstance(body, list) else body["type"]


@pytest.mark.parametrize(
    "date",
    ["Sun, 06 Nov 1994 08:49:37 GMT", "Sunday, 06-Nov-94 08:49:37 GMT", "Sun Nov  6 08:49:37 1994"],
)
async def test_the_senders_clock_is_read_in_all_forms(date: str) -> None:
    """`Date` is read in the three forms of RFC 9110 section 5.6.7, whose example they are."""
    assert await told({"date": date}) == (200, ["1994-11-06T08:49:37Z", False, False])


async def test_without_a_clock_none_is_stated() -> None:
    """A sender that says nothing of its clock or its wishes has stated none."""
    assert await told({}) == (200, [None, False, False])


@pytest.mark.parametrize(
    "date", ["", "yesterday", "2026-03-02T12:00:00Z", "Sun, 31 Feb 2026 08:49:37 GMT", "Sun, 06 Nov 99999 08:49:37 GMT"]
)
async def test_a_clock_that_cannot_be_read_is_refused(date: str) -> None:
    """A `Date` that is no date of HTTP is a problem that names the header, not a clock of none."""
    assert await told({"date": date}) == (400, "/problems/bad-parameter")


@pytest.mark.parametrize(
    "date",
    [
        "Fri, 31 Dec 9999 23:59:59 -2359",
        "Fri, 31 Dec 9999 23:59:59 GMT",
        "Wed, 01 Jan 2201 00:00:00 GMT",
        "Sun, 31 Dec 1899 23:59:59 GMT",
        "Sun, 06 Nov 99999999999999999999 08:49:37 GMT",
        "Sun, 06 Nov 1994 08:49:99999999999999999999 GMT",
        "Sun, 06 Nov 1994 08:49:37 +99999999999999999999",
    ],
)
async def test_a_clock_past_all_calendars_is_refused(date: str) -> None:
    """A `Date` whose numbers no calendar holds, or whose moment lies outside the years of events, is refused alike."""
    assert await told({"date": date}) == (400, "/problems/bad-parameter")


@pytest.mark.parametrize(
    "prefer",
    [
        *("import", "Import", "respond-async, import", "wait=10,import", ",import,, "),
        *('import=""', "import; foo", "import;", "import ;\tfoo = 1; bar", 'wait="1, 2; \\"3", import'),
    ],
)
async def test_an_administrator_may_import(prefer: str) -> None:
    """`Prefer: import` is known alone or among others, in any case and with parameters (RFC 7240 section 2)."""
    assert await told({"prefer": prefer}) == (200, [None, True, False])


@pytest.mark.parametrize("role", ["site-app", "site-lead", "manager", "integrator"])
async def test_nobody_else_may_import(role: Role) -> None:
    """An import by any other role is refused, because its lateness would be believed."""
    assert await told({"prefer": "import"}, role) == (403, "/problems/forbidden")


@pytest.mark.parametrize(
    "prefer",
    [
        *("", " , ", "respond-async", "return=minimal", "imported", "import=no"),
        *("wait=5; import", 'wait="1, import"', "handling=lenient", "wait; handling=strict"),
    ],
)
async def test_other_wishes_are_ignored(prefer: str) -> None:
    """A preference that is not known is ignored (RFC 7240 section 2)."""
    assert await told({"prefer": prefer}, "site-app") == (200, [None, False, False])


@pytest.mark.parametrize(
    "prefer",
    [
        *("handling=strict", 'handling="strict"', r'handling="s\trict"', "wait=5, Handling = strict"),
        *("handling=strict; foo=1", "handling=strict;", "handling=\tstrict", "handling\t= strict ; foo , import"),
    ],
)
async def test_strict_handling_is_not_passed_over(prefer: str) -> None:
    """Strict handling is understood in every form that the grammar allows: a sender relies on it."""
    status, found = await told({"prefer": prefer})
    assert (status, isinstance(found, list) and found[2]) == (200, True)


async def test_the_first_of_two_counts() -> None:
    """Of a preference that is said twice the first counts (RFC 7240 section 2)."""
    assert await told({"prefer": "handling=lenient, handling=strict"}) == (200, [None, False, False])
    assert await told({"prefer": "import=no, import"}) == (200, [None, False, False])


@pytest.mark.parametrize(
    "prefer", ['handling="strict', "handling strict", "handling==strict", "=strict", "import; =1", "im/port", "wait="]
)
async def test_preferences_that_cannot_be_read_are_refused(prefer: str) -> None:
    """What is no list of preferences may have meant one that matters: its sender is told, and nothing is guessed."""
    assert await told({"prefer": prefer}) == (400, "/problems/bad-parameter")


async def test_a_header_that_says_too_much_says_nothing(http: httpx.AsyncClient, administrator: dict[str, str]) -> None:
    """A header that the address reads may have 1,000 characters: more is refused with its name, not cut."""
    longest = await http.get("/v1/sites/harrow-dock", headers={**administrator, "If-None-Match": f'"{"7" * 998}"'})
    longer = await http.get("/v1/sites/harrow-dock", headers={**administrator, "If-None-Match": f'"{"7" * 999}"'})
    unread = await http.get("/v1/sites/harrow-dock", headers={**administrator, "X-Unread": "7" * 2000})

    assert (longest.status_code, longer.status_code, unread.status_code) == (404, 400, 404)
    assert longer.json()["errors"] == [
        {"detail": "A header may have 1000 characters here.", "parameter": "If-None-Match"}
    ]
