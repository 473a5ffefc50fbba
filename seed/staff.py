"""Who works where: references of people, never names, and when each wearer is away."""

from datetime import date, timedelta

from seed.dice import Dice
from seed.fleet import FLEETS, Fleet
from seed.models import BY_REF
from seed.plant import Plant
from seed.shelf import Shelf
from seed.sites import SITES, Site
from seed.unit import Wearer

SIZES = ("S", "M", "M", "M", "L", "L")
CREW = 9


def plants(dice: Dice, start: date, end: date) -> dict[str, Plant]:
    """Staff every site: one lead, two examiners, two technicians, a keeper, a crew, and its wearers."""
    return {site.ref: _plant(dice, site, 1100 + 100 * place, start, end) for place, site in enumerate(SITES)}


def _plant(dice: Dice, site: Site, first: int, start: date, end: date) -> Plant:
    names = [f"p-{first + number}" for number in range(1, 7 + CREW)]
    plant = Plant(
        site=site,
        lead=names[0],
        examiners=(names[1], names[2]),
        technicians=(names[3], names[4]),
        keeper=names[5],
        crew=tuple(names[6:]),
        shelf=Shelf(),
    )
    plant.wearers = _wearers(dice, FLEETS[site.ref], first + 20, start, end)
    return plant


def _wearers(dice: Dice, fleet: Fleet, first: int, start: date, end: date) -> list[Wearer]:
    wearers: list[Wearer] = []
    for ref, count in fleet.personal.items():
        model = BY_REF[ref]
        for _ in range(count):
            name = f"p-{first + len(wearers)}"
            size = dice.choice(SIZES) if model.sized else None
            wearers.append(Wearer(ref=name, model=model, size=size, away=_away(dice, start, end)))
    return wearers


def _away(dice: Dice, start: date, end: date) -> tuple[tuple[date, date], ...]:
    """Draw the first days, before the unit is ready, and five or six absences of one or two weeks."""
    spans = [(start, start + timedelta(days=dice.between(3, 8)))]
    for _ in range(dice.between(5, 6)):
        first = start + timedelta(days=dice.between(10, (end - start).days + 5))
        spans.append((first, first + timedelta(days=dice.choice((4, 4, 9, 11)))))
    return tuple(sorted(spans))
