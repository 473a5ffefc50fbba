import pytest

from tests.oracle.case import Case, lacks
from tests.oracle.cases import CASES
from tests.oracle.conflict import conflicts
from tests.oracle.view import judge


def test_there_are_many_examples_each_with_its_own_name() -> None:
    """Sixty examples or more are published, and no two share a name."""
    assert len(CASES) >= 60
    assert len({case.name for case in CASES}) == len(CASES)


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.name)
def test_example_holds(case: Case) -> None:
    """Each published example holds as its sentence says."""
    assert lacks(judge(case.records, list(case.reports), case.at, case.known_at), case.expect) == [], case.says


@pytest.mark.parametrize("case", [case for case in CASES if case.conflicts], ids=lambda case: case.name)
def test_example_names_its_conflicts(case: Case) -> None:
    """Each published example names exactly the conflicts it says."""
    found = conflicts(case.records, list(case.reports))
    assert {label: found[case.id_of(label)] for label in case.conflicts} == case.conflicts, case.says
