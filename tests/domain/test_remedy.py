"""What was done about a recall: of several remedies those that clear more are kept."""

from service.domain.unit import Remedy
from tests.domain.units import at


def test_a_remedy_covers_what_counts_no_later_and_was_in_no_later() -> None:
    """One of a day alone counts at its end, and covers none of an hour: what came in meanwhile may have come after."""
    day, noon = Remedy(at(12), at(-12)), Remedy(at(0), at(0))
    assert [day.covers(noon), noon.covers(day), noon.covers(noon)] == [False, False, True]
    assert Remedy(at(12), at(0)).covers(day)
