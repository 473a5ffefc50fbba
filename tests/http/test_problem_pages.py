from service.pages.advice import ADVICE
from service.pages.problem import marked
from service.problems import ROWS
from tests.http.conftest import Refusing


def test_every_problem_has_advice() -> None:
    """There is something to do about every kind of problem, and about nothing else."""
    assert set(ADVICE) == set(ROWS)


async def test_type_of_every_problem_leads_to_a_page(refusing: Refusing) -> None:
    """A browser is shown a page that says what to do, a program the same as JSON, both without a key."""
    for code, row in ROWS.items():
        page = await refusing.http.get(f"/problems/{code}", headers={"Accept": "text/html,*/*;q=0.8"})
        assert (page.status_code, page.headers["content-type"]) == (200, "text/html; charset=utf-8")
        assert page.headers["content-security-policy"] == "default-src 'none'; style-src 'unsafe-inline'"
        assert f"<code>{code}</code>, answered with status {row.status}" in page.text
        told = await refusing.http.get(f"/problems/{code}", headers={"Accept": "application/json"})
        assert told.json() == {
            "type": f"/problems/{code}",
            "title": row.title,
            "status": row.status,
            "what_to_do": ADVICE[code],
        }


async def test_all_problems_are_listed(refusing: Refusing) -> None:
    """The list leads to every page."""
    listed = await refusing.http.get("/problems")
    assert all(f'href="/problems/{code}"' in listed.text for code in ROWS)
    told = (await refusing.http.get("/problems", headers={"Accept": "application/json"})).json()
    assert [one["type"] for one in told["problems"]] == [f"/problems/{code}" for code in sorted(ROWS)]


async def test_problem_that_there_is_not_is_a_problem(refusing: Refusing) -> None:
    """A page of no such kind is not found, and the kinds that there are, are named."""
    answered = await refusing.http.get("/problems/nonsense")
    assert (answered.status_code, answered.json()["type"]) == (404, "/problems/not-found")
    assert "tag-taken, too-deep, too-large," in answered.json()["detail"]


def test_texts_are_shown_as_they_are() -> None:
    """What HTML would read as its own is escaped; what stands between backticks is code."""
    assert marked("a <b> `If-Match: *` & so") == "a &lt;b&gt; <code>If-Match: *</code> &amp; so"
