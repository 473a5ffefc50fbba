from service.domain.conflict import Conflict
from service.domain.unit import WaitingUse
from tests.domain.units import at, event, fact, unit, world
from tests.oracle.firm import tell
from tests.oracle.posting import Posted

WORLD = world()


def occasional(received: float, key: str = "office") -> Posted:
    """Set occasional use at noon."""
    return tell(
        "use-set", at(0).isoformat(), received=at(received).isoformat(), key=key,
        use="occasional", authorised_by="m-1", reason="shutdowns",
    )  # fmt: skip


def test_an_occasional_use_waits_for_a_receipt_that_is_later() -> None:
    """Received at its very moment it bites at once (R50)."""
    now, later = (fact(occasional(hours), WORLD, 5) for hours in (0, 1))
    after = now.event.happened(unit(), now, WORLD)
    assert (after.use, after.uses_waiting) == ("occasional", ())
    after = later.event.happened(unit(), later, WORLD)
    assert (after.use, after.uses_waiting) == ("routine", (WaitingUse(event(5), "occasional"),))


def test_an_occasional_use_set_without_authority_contradicts() -> None:
    """By a key that leads nobody."""
    known, unknown = (fact(occasional(0, key), WORLD, 5) for key in ("office", "nobodys"))
    assert known.event.contradicts(unit(), known, WORLD) == ()
    assert unknown.event.contradicts(unit(), unknown, WORLD) == (Conflict("use-not-authorised"),)
