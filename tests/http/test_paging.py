"""Lists, page by page."""

import re
from datetime import datetime, timedelta
from typing import Any

import httpx
import pytest
from litestar import get
from litestar.exceptions import LitestarException
from litestar.response import Stream

from service.http import paging
from service.http.answers import JSON, Answer
from service.http.negotiation import CSV
from service.http.paging import Listed, list_answer, read_page
from service.http.query import AsAt, KnownAt
from service.http.request import Asked
from service.page import Page
from tests.http.doors import NOON, client

NUMBERS = [f"FX-{number:04}" for number in range(1, 8)]


class Question(Listed, frozen=True, kw_only=True):
    """A list at a moment."""

    as_at: AsAt = None
    known_at: KnownAt = None
    site: str | None = None


class Lost(Exception):
    """Something that no page can be read for."""


@get("/numbers", asks=Question, offers=(JSON, CSV), columns=("tag", "at", "asked"))
async def numbers(request: Asked) -> Answer | Stream:
    """List seven tags; without a moment, as they are at noon. Of a lost site no second page can be read."""

    async def page(question: Question) -> Page:
        after = question.after or ""
        if after and question.site == "lost":
            raise Lost
        if after.isdigit():
            after = f"FX-{after}"
        rest = [tag for tag in NUMBERS if tag > after]
        shown = rest[: question.limit]
        moment, limit = question.as_at or NOON + len(NUMBERS[: -len(rest)]) * timedelta(days=1), question.limit
        about: dict[str, object] = {"as_at": moment, "asked": limit}
        more = shown[-1] if len(rest) > len(shown) else None
        return Page(items=[{"tag": tag, "at": moment, "asked": limit} for tag in shown], next=more, about=about)

    question = read_page(request, Question, plain=re.compile("[0-9]+"))
    return list_answer(request, question, "tags", await page(question), page)


async def test_a_list_is_read_to_its_end() -> None:
    """Following `next` gives every item once, in order, and the last page has none."""
    seen: list[str] = []
    after: str | None = ""
    async with client(numbers) as http:
        while after is not None:
            asked = {"limit": "3"} | ({"after": after} if after else {})
            page = (await http.get("/numbers", params=asked)).json()
            seen += [item["tag"] for item in page["tags"]]
            after = page["next"]

    assert seen == NUMBERS


async def test_the_next_page_is_linked() -> None:
    """A Link header leads to the next page with everything that was asked (RFC 8288), and is left out at the end."""
    async with client(numbers) as http:
        first = await http.get("/numbers?limit=4&site=harrow-dock")
        target = re.fullmatch(r'<(/numbers\?limit=4&site=harrow-dock&after=[\w-]+)>; rel="next"', first.headers["link"])
        assert target is not None
        last = await http.get(target[1])

    assert [item["tag"] for item in last.json()["tags"]] == ["FX-0005", "FX-0006", "FX-0007"]
    assert last.json()["next"] is None
    assert "link" not in last.headers


async def test_all_pages_tell_of_one_moment() -> None:
    """The moment that the first page settled holds for the next, though nobody asked for it."""
    async with client(numbers) as http:
        first = (await http.get("/numbers?limit=3")).json()
        second = (await http.get("/numbers", params={"limit": "3", "after": first["next"]})).json()

    assert first["as_at"] == "2026-03-02T12:00:00Z"
    assert datetime.fromisoformat(second["as_at"]) == NOON


@pytest.mark.parametrize(("limit", "asked"), [("1", 1), ("500", 500), ("501", 500), ("9999999", 500)])
async def test_a_page_is_never_longer_than_the_most(limit: str, asked: int) -> None:
    """A limit over 500 counts as 500."""
    async with client(numbers) as http:
        answered = await http.get("/numbers", params={"limit": limit})

    assert answered.json()["asked"] == asked


@pytest.mark.parametrize("limit", ["0", "-5", "many"])
async def test_a_limit_is_a_positive_number(limit: str) -> None:
    """A limit of nothing, or one that is no number, is refused."""
    async with client(numbers) as http:
        answered = await http.get("/numbers", params={"limit": limit})

    assert (answered.status_code, answered.json()["type"]) == (400, "/problems/bad-parameter")


async def test_a_cursor_is_for_the_question_it_was_given_for() -> None:
    """A cursor is refused where the filter has changed, and taken where only the limit has."""
    async with client(numbers) as http:
        after = (await http.get("/numbers?limit=3&site=harrow-dock")).json()["next"]

        async def again(**asked: Any) -> tuple[int, str]:
            answered = await http.get("/numbers", params={"after": after} | asked)
            return answered.status_code, answered.json().get("type", "")

        assert await again(site="east-yard") == (400, "/problems/bad-cursor")
        assert await again() == (400, "/problems/bad-cursor")
        assert await again(site="harrow-dock", limit="2") == (200, "")


@pytest.mark.parametrize("after", ["", "no-cursor", "x" * 1_001])
async def test_a_made_up_cursor_is_refused(after: str) -> None:
    """What was never given out as `next` is refused, however long it is."""
    async with client(numbers) as http:
        answered = await http.get("/numbers", params={"after": after})

    assert answered.status_code == 400


async def test_a_plain_key_may_be_given_where_the_list_has_them() -> None:
    """A list whose keys are known, as seq, takes one as it is."""
    async with client(numbers) as http:
        answered = await http.get("/numbers?after=0005")

    assert [item["tag"] for item in answered.json()["tags"]] == ["FX-0006", "FX-0007"]


TABLE = {"Accept": "text/csv"}


def rows(answered: httpx.Response) -> list[str]:
    """Give the lines of a table below its columns, and demand that there is one mark and one line of columns."""
    first, *rest = answered.text.splitlines()
    assert first == "\ufefftag,at,asked"
    return rest


async def test_a_table_has_every_row_there_is(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where no limit is asked for a table is whole, read a few rows at a time, all of the first one's moment."""
    monkeypatch.setattr(paging, "ROWS_AT_ONCE", 3)
    async with client(numbers) as http:
        answered = await http.get("/numbers", headers=TABLE)
        rest = await http.get("/numbers?after=0005", headers=TABLE)

    assert rows(answered) == [f"{tag},2026-03-02T12:00:00Z,3" for tag in NUMBERS]
    assert "link" not in answered.headers
    assert [line[:7] for line in rows(rest)] == ["FX-0006", "FX-0007"]


async def test_a_table_of_a_limit_is_a_page_of_it() -> None:
    """A table that is asked for by a limit has no more rows than that, and a link to the next page."""
    async with client(numbers) as http:
        first = await http.get("/numbers?limit=4", headers=TABLE)
        last = await http.get(first.links["next"]["url"], headers=TABLE)

    assert [line[:7] for line in rows(first) + rows(last)] == NUMBERS
    assert [len(rows(first)), "link" in last.headers] == [4, False]


async def test_a_table_that_cannot_be_ended_breaks(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where a later row cannot be read the answer fails, so that nobody takes what came for all there is."""
    monkeypatch.setattr(paging, "ROWS_AT_ONCE", 3)
    async with client(numbers) as http:
        with pytest.raises(LitestarException, match="after response started"):
            await http.get("/numbers?site=lost", headers=TABLE)
