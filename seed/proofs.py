"""What people may do: training, fit tests, clearances and tasks, before the year and through it."""

from datetime import date, datetime, timedelta

import msgspec

from seed.days import is_working, moment, working_after, working_on_or_before
from seed.examining import EXPIRED_DAYS, EXPIRED_SITE
from seed.models import BY_REF, Model
from seed.plant import Plant
from seed.world import DEPUTY, World

YEAR = 365
EXERCISES = (
    "normal breathing",
    "deep breathing",
    "head side to side",
    "head up and down",
    "talking",
    "bending",
    "normal again",
)
PASS = {("uk", "half"): 100, ("uk", "full"): 2000, ("us", "half"): 100, ("us", "full"): 500}
TASKS = {"ar-visor-4": "bay-welding", "ar-hood-2": "edge-grinding"}


class Renewal(msgspec.Struct, frozen=True):
    """A proof that is due again: what, for whom, and the day."""

    person: str
    what: str
    on: date
    model: str | None = None
    size: str | None = None


def write(world: World, plant: Plant, kind: str, at: datetime, by: str, fields: dict[str, object]) -> None:
    """Post a message about a person of a site."""
    world.book.write(kind, at, by, plant.site.ref, None, fields)


def first_proofs(world: World, plant: Plant) -> list[Renewal]:
    """Post what stood before the year began, granted by those above; give what falls due within the year."""
    before = moment(plant.site, world.start - timedelta(days=40), 9 * 60)
    train(world, plant, plant.lead, before, DEPUTY, ("wear", "release", "examine"))
    for person in plant.examiners:
        until = world.before_end(EXPIRED_DAYS) if person == expired(plant) else None
        train(world, plant, person, before, plant.lead, ("wear", "examine", "fit-test"), until)
    for person in plant.technicians:
        train(world, plant, person, before, plant.lead, ("wear", "repair"))
    renewals = []
    for person in plant.people:
        renewals += _wearing(world, plant, person)
    for wearer in plant.wearers:
        if wearer.model.ref in TASKS:
            write(world, plant, "assigned", before, plant.lead, {"person": wearer.ref, "task": TASKS[wearer.model.ref]})
    return renewals


def expired(plant: Plant) -> str | None:
    """Name the one examiner whose competence runs out before the end of the year."""
    return plant.examiners[1] if plant.site.ref == EXPIRED_SITE else None


def train(  # who trained whom in what, until when
    world: World,
    plant: Plant,
    person: str,
    at: datetime,
    by: str,
    competences: tuple[str, ...],
    until: date | None = None,
) -> None:
    """Post a training; nobody grants it to themselves."""
    last = until.isoformat() if until else None
    fields: dict[str, object] = {"person": person, "competences": list(competences), "valid_until": last}
    write(world, plant, "trained", at, by, fields)


def _wearing(world: World, plant: Plant, person: str) -> list[Renewal]:
    """Train a person to wear, fit-test and clear them before the year, each on a day of its own."""
    renewals = [_renewed(world, plant, Renewal(person, "wear", _earlier(world)))]
    tight = [(wearer.model, wearer.size) for wearer in plant.wearers if wearer.ref == person and wearer.model.sized]
    if person in plant.crew:
        tight.append((BY_REF["pe-full-2"], "M"))
    renewals += [
        _renewed(world, plant, Renewal(person, "fit", _earlier(world), model.ref, size)) for model, size in tight
    ]
    if plant.site.profile == "us":
        cleared(world, plant, person, _earlier(world))
    return renewals


def _earlier(world: World) -> date:
    return world.start - timedelta(days=world.dice.between(8, YEAR - 25))


def _renewed(world: World, plant: Plant, due: Renewal) -> Renewal:
    renew(world, plant, due, due.on)
    slip = world.dice.between(5, 40) if world.dice.happens(0.05) else -world.dice.between(3, 30)
    again = working_on_or_before(plant.site, due.on + timedelta(days=YEAR + slip))
    return msgspec.structs.replace(due, on=max(again, working_after(plant.site, world.start, 3)))


def renew(world: World, plant: Plant, due: Renewal, today: date) -> None:
    """Post a proof anew."""
    at = moment(plant.site, today, 13 * 60 + world.dice.between(0, 150))
    by = plant.lead if due.person != plant.lead else DEPUTY
    if due.what == "wear":
        until = today + timedelta(days=YEAR) if plant.site.profile == "us" or world.dice.happens(0.5) else None
        train(world, plant, due.person, at, by, ("wear",), until)
        return
    tester = next(person for person in plant.examiners if person != due.person)
    if world.dice.happens(0.03):
        fit_test(world, plant, due, at, tester, passed=False)
        at = moment(plant.site, working_after(plant.site, today), 10 * 60 + world.dice.between(0, 99))
    fit_test(world, plant, due, at, tester, passed=True)


def fit_test(world: World, plant: Plant, due: Renewal, at: datetime, by: str, *, passed: bool) -> None:
    """Post a fit test: by factors for most, by taste for some half masks (29 CFR 1910.134(f); INDG479)."""
    model: Model = BY_REF[str(due.model)]
    half = model.ref == "pe-half-1"
    quantitative = not half or world.dice.happens(0.7)
    lowest = PASS[plant.site.profile, "half" if half else "full"]
    factors = [{"name": name, "factor": int(lowest * world.dice.uniform(1.4, 4.0))} for name in EXERCISES]
    if not passed:
        factors[3]["factor"] = int(lowest * 0.1)
    fields: dict[str, object] = {
        "person": due.person,
        "model": model.ref,
        "size": due.size,
        "method": "quantitative" if quantitative else "qualitative",
        "passed": passed,
        "exercises": factors if quantitative else None,
        "valid_until": (at.date() + timedelta(days=YEAR)).isoformat(),
    }
    write(world, plant, "fit-tested", at, by, fields)


def cleared(world: World, plant: Plant, person: str, day: date) -> None:
    """Post a clearance: a date and a limit, nothing else."""
    until = day + timedelta(days=world.dice.choice((2, 3, 5)) * YEAR)
    by = plant.lead if person != plant.lead else DEPUTY
    fields: dict[str, object] = {"person": person, "until": until.isoformat()}
    write(world, plant, "medically-cleared", moment(plant.site, day, 12 * 60), by, fields)


def go(world: World, plant: Plant, renewals: list[Renewal], today: date) -> None:
    """Renew what is due today; people who left are left alone."""
    if not is_working(plant.site, today):
        return
    gone = {wearer.ref for wearer in plant.wearers if wearer.left}
    for due in renewals:
        if due.on == today and due.person not in gone:
            renew(world, plant, due, today)
