"""/problems: what the types of problems address, for people and programs."""

from litestar import get

from service.domain.errors import NotFound
from service.http import roles
from service.http.answers import JSON, Answer, answer
from service.http.negotiation import HTML, media_of
from service.http.path import FromRef
from service.http.request import Asked
from service.pages import problem
from service.problems import ROWS

PROBLEM = "problem"
OFFERS = (HTML, JSON)
SECURE = {"Content-Security-Policy": "default-src 'none'; style-src 'unsafe-inline'"}
"""A page may show itself and nothing else."""


def html(text: str) -> Answer:
    """Answer with a page."""
    return Answer(text.encode(), media_type=HTML, headers=SECURE)


@get("/problems", may=roles.ANYONE, offers=OFFERS)
async def get_problems(request: Asked) -> Answer:
    """List the kinds of problems."""
    if media_of(request) == HTML:
        return html(problem.contents())
    return answer({"problems": [problem.told(code) for code in sorted(ROWS)]})


@get("/problems/{code:str}", may=roles.ANYONE, offers=OFFERS)
async def get_problem(request: Asked, code: FromRef) -> Answer:
    """Explain a kind of problem, and what to do about it."""
    told = problem.told(code)
    if told is None:
        raise NotFound(PROBLEM, f"the problems are {', '.join(sorted(ROWS))}")
    return html(problem.page(code)) if media_of(request) == HTML else answer(told)


HANDLERS = (get_problems, get_problem)
