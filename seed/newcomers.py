"""Units bought within the year: registered, examined, and laid into the store."""

from datetime import date, timedelta

from seed.commission import add
from seed.days import working_after, working_on_or_before
from seed.fleet import FLEETS
from seed.models import BY_REF
from seed.plant import Plant
from seed.staff import SIZES
from seed.world import World

CHOICE = ("ar-visor-4", "ar-visor-4", "ar-hood-2", "ar-hood-2", "ar-face-3", "pe-half-1")
FIRST, LAST = 40, 45


def days(world: World, plant: Plant) -> dict[date, int]:
    """Draw the days on which a site gets units, and how many."""
    found: dict[date, int] = {}
    for _ in range(FLEETS[plant.site.ref].bought):
        span = (world.end - world.start).days - FIRST - LAST
        day = working_on_or_before(plant.site, world.start + timedelta(days=FIRST + world.dice.between(0, span)))
        found[day] = found.get(day, 0) + 1
    return found


def come(world: World, plant: Plant, today: date, count: int) -> None:
    """Register new units; they are examined on the next working day's round."""
    for _ in range(count):
        model = BY_REF[world.dice.choice(CHOICE if plant.wearers else ("ar-hood-2",))]
        unit = add(world, plant, model, "personal", today, size=world.dice.choice(SIZES) if model.sized else None)
        unit.examine_on = working_after(plant.site, today)
