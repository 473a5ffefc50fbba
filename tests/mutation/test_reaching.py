"""Which tests are tried on a change, and which first."""

from pathlib import Path

from tests.mutation.reaching import Reached

SHELF = Path("service/domain/stock/shelf.py")
OWN = "tests/domain/stock/test_shelf.py::test_a"
BESIDE = "tests/domain/stock/test_ledger.py::test_b"
QUICK, SLOW = "tests/golden/test_golden.py::test_c", "tests/domain/test_view.py::test_d"
STRONG = "tests/domain/test_agreement.py::test_e"
SECONDS = {OWN: 0.5, BESIDE: 0.4, QUICK: 0.1, SLOW: 0.3, STRONG: 2.0}


def test_own_tests_go_first_then_those_of_the_folder_then_the_quickest() -> None:
    """As many as the budget allows, then strong ones for as much again."""
    reached = Reached({str(SHELF): {"7": [STRONG, SLOW, QUICK, BESIDE, OWN]}}, SECONDS)
    assert reached.tests(SHELF, 7, 3) == [OWN, BESIDE, QUICK, SLOW, STRONG]
    assert reached.tests(SHELF, 7, 1.1) == [OWN, BESIDE, QUICK]
    assert reached.tests(SHELF, 8, 3) == []


def test_what_is_imported_is_tried_by_its_own_tests_though_they_reach_nothing() -> None:
    """Its value may be kept from the import; where nothing reaches the file all tests are tried."""
    reached = Reached({str(SHELF): {"7": [""], "9": [SLOW]}}, SECONDS)
    assert reached.tests(SHELF, 7, 3) == [OWN, SLOW]
    other = Path("service/domain/words.py")
    assert Reached({str(other): {"7": [""]}}, SECONDS).tests(other, 7, 9) == [QUICK, SLOW, BESIDE, OWN, STRONG]
