import pytest

from tests.domain.folding import views
from tests.oracle.case import Case, lacks
from tests.oracle.cases import CASES


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.name)
def test_the_fold_means_what_the_example_says(case: Case) -> None:
    """Each published example of meaning holds for the fold."""
    assert lacks(views(case.records, case.reports, case.at, case.known_at), case.expect) == [], case.says
