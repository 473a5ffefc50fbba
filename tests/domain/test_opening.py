"""Openings of recalls: supposed ones, and since when a recall is voided altogether."""

from uuid import UUID

import msgspec

from service.domain.facts import Taking
from service.domain.kinds.recall_opened import Criterion
from service.domain.recall.opening import Back, Opening, Openings, supposed
from tests.domain.units import at, event

LOT = Criterion(item="p3", lot="L-9")


def opening(hours: float, recall: str = "r-1", number: int = 1, *ends: float) -> Opening:
    """Open a recall so many hours after noon, by an event of this number, and void that at these hours."""
    key = (at(hours), True, 0, "", number, event(number).bytes, False)
    backs = tuple(Back(event(100 + nth), "m-9", at(end)) for nth, end in enumerate(ends))
    return Opening(recall, key, event(number), "m-1", "stop-use", (LOT,), backs=backs)


def test_an_opening_that_is_supposed_names_nobody() -> None:
    """It stands from its moment on, in the order before whatever was said then, and only tells."""
    found = supposed((LOT,), at(3))
    assert (found.at, found.until, found.criteria, found.action) == (at(3), None, (LOT,), "information")
    assert (found.recall, found.by, found.event) == ("", "", UUID(int=0))
    assert found.key == (at(3), True, 0, "", -1, UUID(int=0).bytes, False)


def test_the_earliest_voiding_ends_an_opening() -> None:
    """Several are as good as that."""
    assert opening(0, "r-1", 1, 5, 3, 9).until == at(3)
    assert opening(0).until is None


def test_a_recall_is_voided_once_all_its_openings_are() -> None:
    """Since the last of those was; of openings at the moment or later, and of other recalls, nothing is asked."""
    every = Openings([opening(0, "r-1", 1, 5), opening(2, "r-1", 2, 4), opening(1, "r-2", 3), opening(9, "r-1", 4)])
    assert every.voided("r-1", at(9)) == at(5)
    assert every.voided("r-1", at(9.1)) is None
    assert every.voided("r-2", at(9)) is None
    assert every.voided("r-3", at(9)) is None
    assert every.voided("r-1", at(0)) is None
    assert every.voided("r-1", at(1)) == at(5)


def test_those_that_may_bear_on_a_unit_are_found_by_models_and_items() -> None:
    """Any criterion of an opening will do; what is asked again is answered the same."""
    every = Openings(
        [opening(0), msgspec.structs.replace(opening(1, "r-2", 2), criteria=(Criterion(model="mask"), LOT))]
    )
    assert [one.recall for one in every.about(("hood",), frozenset({"p3"}))] == ["r-1", "r-2"]
    assert [one.recall for one in every.about(("hood", "mask"), frozenset({"cell"}))] == ["r-2"]
    assert every.about(("hood",), frozenset()) == every.about(("hood",), frozenset({"cell"})) == ()
    assert [one.recall for one in every.about(("hood",), frozenset({"p3"}))] == ["r-1", "r-2"]


def test_openings_are_in_order_and_known_by_their_event() -> None:
    """Whatever the order in which they became known."""
    every = Openings([opening(2, "r-2", 2), opening(0)])
    assert [one.recall for one in every] == ["r-1", "r-2"]
    assert [every.recall_of(event(number)) for number in (1, 2, 3)] == ["r-1", "r-2", None]
    assert (bool(every), bool(Openings())) == (True, False)


def test_a_release_may_rest_on_any_voiding_of_an_opening() -> None:
    """Each is told with the places of all that the event opened, be it twice."""
    first, again = opening(0, "r-1", 1, 5), opening(3, "r-1", 1, 5)
    found = Openings([first, again, opening(1, "r-1", 2)]).takings()
    assert found == {event(100): Taking(event(1), "m-1", "m-9", at(5), (first.key, again.key))}
