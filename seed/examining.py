"""The thorough examination, with what its record must hold (L5 para 184)."""

from datetime import date, datetime, timedelta
from hashlib import sha256

from seed.checking import flow
from seed.days import month_after, working_on_or_before
from seed.dice import Dice
from seed.instruments import LAPSED_DAYS, LAPSED_SITE, meter
from seed.plant import Plant
from seed.sites import employer
from seed.unit import Unit
from seed.world import World

EXPIRED_SITE = "brackmoor"
EXPIRED_DAYS = 31
FRESH_DAYS = 26
QUARTERLY_SITE = "cedar-flats"
QUARTER_DAYS = 80
SLIPS = ((0, 0), (2, 7), (20, 34))
SLIP_SHARES = (964, 30, 6)
FINDINGS = (
    ("breathing-tube", "clip of the tube loose", "clip renewed"),
    ("low-flow-alarm", "alarm faint", "sounder cleaned"),
    ("straps", "strap frayed", "strap renewed"),
    ("valves", "valve disc dirty", "disc cleaned"),
    ("hood", "curtain torn at the seam", "seam mended"),
    ("airflow", "flow at the lower end", None),
)


def examine(  # who examined what with what, and how it ended
    world: World,
    plant: Plant,
    unit: Unit,
    at: datetime,
    *,
    by: str | None = None,
    instrument: str | None = None,
    passes: bool = True,
) -> datetime:
    """Post an examination and plan the next; a headtop with its own number is examined with its unit."""
    by = by or world.dice.choice(able(world, plant, at.date()))
    fields = particulars(world, plant, unit, at, instrument)
    fields |= _passed(world.dice, unit) if passes else _failed(world.dice, unit)
    at = world.about(plant, unit, "examined", at, by, "bench", fields)
    if passes:
        unit.examined = at.date()
        unit.examine_on = next_round(world, plant, unit, at.date())
        if unit.top is not None:
            examine(world, plant, unit.top, at, by=by)
    return at


def able(world: World, plant: Plant, today: date) -> tuple[str, ...]:
    """List the examiners whose competence holds; the first one's always does."""
    if plant.site.ref == EXPIRED_SITE and today > world.before_end(EXPIRED_DAYS + 1):
        return plant.examiners[:1]
    return plant.examiners


def particulars(world: World, plant: Plant, unit: Unit, at: datetime, instrument: str | None) -> dict[str, object]:
    """Draw the points, readings and paper of an examination, all of them in order."""
    certificate = f"{plant.site.code.upper()}-{at:%y%m%d}-{unit.tag}"
    fields: dict[str, object] = {
        "points": {point.point: "pass" for point in unit.model.points},
        "examiner_employer": employer(plant.site)["name"],
        "certificate": certificate,
    }
    if unit.model.powered:
        fields["airflow_lpm"] = flow(world.dice, unit.model)
        fields["instrument"] = instrument or instrument_on(world, plant, at.date())
        fields["capacity_percent"] = int(unit.capacity)
        fields["filter_loading"] = int(unit.loading)
    if world.dice.happens(0.1):
        fields["report_sha256"] = sha256(certificate.encode()).hexdigest()
    return fields


def instrument_on(world: World, plant: Plant, today: date) -> str:
    """Choose a flow meter; whoever knows that a calibration has lapsed takes the other one."""
    if plant.site.ref == LAPSED_SITE and today > world.before_end(LAPSED_DAYS + 1):
        return meter(plant.site, 1)
    return meter(plant.site, world.dice.between(1, 2))


def owed(plant: Plant, unit: Unit, today: date) -> bool:
    """Say whether the last examination is too old to issue the unit without another."""
    if unit.examined is None:
        return True
    age = (today - unit.examined).days
    if plant.site.profile == "us":
        return plant.site.ref == QUARTERLY_SITE and age > QUARTER_DAYS
    return age > FRESH_DAYS


def next_round(world: World, plant: Plant, unit: Unit, today: date) -> date | None:
    """Plan the next examination some days before it is due; a few plans slip.

    None where neither the law nor the site's policy asks for one.
    """
    if unit.use == "occasional" or (plant.site.profile == "us" and unit.role != "cabinet"):
        return today + timedelta(days=world.dice.between(72, 86)) if plant.site.ref == QUARTERLY_SITE else None
    low, high = world.dice.choices(SLIPS, SLIP_SHARES)[0]
    late = world.dice.between(low, high)
    planned = month_after(today) + timedelta(days=late or -world.dice.between(1, 7))
    return working_on_or_before(plant.site, planned)


def _passed(dice: Dice, unit: Unit) -> dict[str, object]:
    if dice.happens(0.96):
        return {"result": "pass"}
    point, found, remedy = _finding(dice, unit)
    defect = {"point": point, "found": found} | ({"remedy": remedy} if remedy else {})
    return {"result": "pass-after-repair" if remedy else "pass", "defects": [defect]}


def _finding(dice: Dice, unit: Unit) -> tuple[str, str, str | None]:
    known = {point.point for point in unit.model.points}
    fitting = [finding for finding in FINDINGS if finding[0] in known]
    return dice.choice(fitting) if fitting else (unit.model.points[0].point, "scratched", None)


def _failed(dice: Dice, unit: Unit) -> dict[str, object]:
    point = dice.choice([point.point for point in unit.model.points if point.on_fail == "withdraw"])
    points = {other.point: "fail" if other.point == point else "pass" for other in unit.model.points}
    return {"points": points, "result": "fail", "defects": [{"point": point, "found": "not fit for use"}]}
