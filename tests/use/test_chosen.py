"""A choice is made once, however many ask for it at a time."""

from concurrent.futures import ThreadPoolExecutor

from service.assessing.chosen import chosen
from tests.domain.demand.counting import Counted, Steps


def test_who_asks_at_once_waits_for_the_one() -> None:
    """Eight that ask at once take as many steps as one alone."""
    alone, together = Steps(10**7), Steps(10**7)
    first, again = [tuple(Counted(2.0 + nth % 3, steps) for nth in range(60)) for steps in (alone, together)]
    chosen(first, 2, 0.93)
    with ThreadPoolExecutor(8) as threads:
        found = list(threads.map(lambda _: chosen(again, 2, 0.94), range(8)))
    assert all(one is found[0] for one in found)
    assert alone.taken > 1000
    assert together.taken < 2 * alone.taken
