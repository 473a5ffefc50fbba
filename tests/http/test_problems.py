"""Problems as RFC 9457 has them."""

import pytest

from service.domain.errors import Malformed, UnknownReference
from service.domain.problem import Fault, Problem
from service.problems import ROWS, described, status_of


def test_a_problem_has_the_members_of_the_standard_and_its_own() -> None:
    """A problem tells type, title, status and detail (RFC 9457 section 3.1), then its faults and its own members."""
    problem = UnknownReference("/asset", "FX-9", waits=False).problem()

    assert described(problem) == {
        "type": "/problems/unknown-reference",
        "title": "The message names something that is not defined",
        "status": 422,
        "detail": "/asset: Nothing is defined under 'FX-9'.",
        "errors": [{"detail": "Nothing is defined under 'FX-9'.", "pointer": "#/asset"}],
        "reference": "FX-9",
        "waits": False,
    }


@pytest.mark.parametrize(
    ("pointer", "fragment"),
    [
        ("", "#"),
        ("/foo", "#/foo"),
        ("/foo/0", "#/foo/0"),
        ("/", "#/"),
        ("/a~1b", "#/a~1b"),
        ("/c%d", "#/c%25d"),
        ("/e^f", "#/e%5Ef"),
        ("/g|h", "#/g%7Ch"),
        ("/i\\j", "#/i%5Cj"),
        ('/k"l', "#/k%22l"),
        ("/ ", "#/%20"),
        ("/m~0n", "#/m~0n"),
    ],
)
def test_a_pointer_is_told_as_a_fragment(pointer: str, fragment: str) -> None:
    """A place is told as a URI fragment: the examples of RFC 6901 section 6."""
    told = described(Malformed(pointer, "is wrong").problem())

    assert told["errors"] == [{"detail": "is wrong", "pointer": fragment}]


def test_a_fault_may_name_a_parameter() -> None:
    """A fault outside the body names the parameter or header instead of a place."""
    problem = Problem(code="bad-parameter", detail="is wrong", errors=(Fault("is wrong", parameter="limit"),))

    assert described(problem)["errors"] == [{"detail": "is wrong", "parameter": "limit"}]


def test_every_status_is_one_of_failure() -> None:
    """Every problem has a status between 400 and 599, the one that its body states."""
    for code in ROWS:
        problem = Problem(code=code, detail="")
        assert 400 <= status_of(problem) <= 599
        assert described(problem)["status"] == status_of(problem)
