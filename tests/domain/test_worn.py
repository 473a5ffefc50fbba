from service.domain.kinds.worn import Worn
from service.domain.unit import Cover, Wearing
from tests.domain.units import at, event, fact, unit, world
from tests.oracle.firm import WORN_ONLY, wear

WORLD = world(WORN_ONLY)
COVER = Cover(event(1), "p-1", at(0), at(12))


def test_a_wearing_says_whether_a_check_covers_it_as_it_begins() -> None:
    """Without one it lacks cover from its beginning on."""
    one = fact(wear(at(1).isoformat(), until=at(3).isoformat()), WORLD, 5)
    [safe] = one.event.happened(unit(cover=COVER), one, WORLD).wearings
    assert safe == Wearing("p-1", at(1), event(5), at(3), counted=True, covered=True)
    [bare] = one.event.happened(unit(), one, WORLD).wearings
    assert bare == Wearing("p-1", at(1), event(5), at(3), counted=True, lapse=at(1))


def test_a_wearing_before_the_registration_is_no_use_of_the_summary() -> None:
    """From the registration on it is one, but not of a part of another unit (R51) nor where working days count."""
    one = fact(wear(at(1).isoformat()), WORLD, 5)
    assert isinstance(one.event, Worn)
    assert one.event.counts(unit(registered_at=at(1)), one, WORLD)
    assert not one.event.counts(unit(registered_at=at(1.01)), one, WORLD)
    assert not one.event.counts(unit(fitted_to="A-2"), one, WORLD)
    assert not one.event.counts(unit(), one, world())
