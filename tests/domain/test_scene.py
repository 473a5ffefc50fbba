from datetime import timedelta

from service.domain.scene import HORIZON, Scene
from service.domain.standing import FOREVER
from tests.domain.units import NOON, unit, world

ISSUED = unit(where="issued")


def test_uses_are_looked_for_two_years_ahead_where_time_has_no_end() -> None:
    """To an end that is named they are looked for however far it is."""
    scene = Scene(NOON, FOREVER, world(), ISSUED)
    beyond, far = NOON + HORIZON, NOON + HORIZON + timedelta(days=7)
    assert next((use for use in scene.working_uses(FOREVER) if use.start > beyond), None) is None
    assert [use for use in scene.working_uses(far) if use.start > beyond] != []
