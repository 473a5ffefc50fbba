import pytest

from tests.domain.folding import Folding, views
from tests.oracle.case import Case, lacks
from tests.oracle.cases import CASES


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.name)
def test_the_fold_means_what_the_example_says(case: Case) -> None:
    """Each published example of meaning holds for the fold."""
    assert lacks(views(case.records, case.reports, case.at, case.known_at), case.expect) == [], case.says


@pytest.mark.parametrize("case", [case for case in CASES if case.conflicts], ids=lambda case: case.name)
def test_the_fold_names_the_conflicts_of_the_example(case: Case) -> None:
    """Each published example contradicts its history as it says, and no further."""
    found = Folding(case.records, list(case.reports)).conflicts()
    assert {label: found.get(case.id_of(label), []) for label in case.conflicts} == case.conflicts, case.says
