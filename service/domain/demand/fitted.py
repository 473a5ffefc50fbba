"""What is fitted in a unit, as the forecast of changes takes it: each part with its life, and how much it is used.

Of its loading the newest reading is known; with the day on which a new part was fitted, clean, that is a line. A part
of which neither its item nor a reading says anything lasts as long as the model says that the whole unit does. One that
was put in on the day of the last examination is taken to be changed at the next: some firms do so, and nothing else
says which. Of recalls those parts count that are known to be meant: what only may be is identified first.
"""

from collections.abc import Collection, Iterator
from datetime import date, timedelta
from typing import Final, NamedTuple

from service.domain.demand.changes import Change, InPlace, Life, Pace, Reading, expected_change
from service.domain.kinds.item_defined import ItemDefined
from service.domain.kinds.model_defined import ModelDefined
from service.domain.recall.bearing import reached
from service.domain.recall.opening import Opening
from service.domain.rules.thorough_examination import due_on
from service.domain.scene import Scene
from service.domain.unit import Fitted, Unit
from service.domain.words import expiry_day

MONTH: Final = 365.25 / 12
"""Days of a month in the mean."""
AN_HOUR: Final = timedelta(hours=1) / timedelta(microseconds=1)
"""In the microseconds that wearing is counted in."""


class Expected(NamedTuple):
    """A change that is expected in a unit, by its tag, and at which of its positions."""

    tag: str
    position: str
    change: Change


def expected_in(unit: Unit, scene: Scene, today: date, openings: Collection[Opening]) -> Iterator[Expected]:
    """Give the changes that are expected of the parts of a unit; `openings` are those of recalls that go on."""
    recalled = _recalled(unit, scene, openings)
    pace = _pace(unit, scene, today)
    for position, fitted in sorted(unit.parts.items()):
        if fitted.part is not None:
            part = _in_place(unit, position, fitted, scene, recalled=position in recalled)
            change = expected_change(part, _life(position, scene.item(part.item), scene.model), pace, today)
            if change is not None:
                yield Expected(unit.tag, position, change)


def _recalled(unit: Unit, scene: Scene, openings: Collection[Opening]) -> set[str | None]:
    listing = scene.world.listing(unit, scene.since)
    return {spot for opening in openings for spot, match in reached(unit, listing, opening) if match is True}


def _pace(unit: Unit, scene: Scene, today: date) -> Pace:
    """Give how much a unit has been used in a day since it was first handed out."""
    began = unit.first_issue.on if unit.first_issue is not None else scene.day(unit.registered_at)
    days = max(1, (today - began).days)
    return Pace(unit.uses / days, unit.worn / AN_HOUR / days)


def _in_place(unit: Unit, position: str, fitted: Fitted, scene: Scene, *, recalled: bool) -> InPlace:
    part, loading = fitted.part, unit.loadings.get(position)
    if part is None:  # pragma: no cover - the caller looks at parts alone
        raise ValueError(position)
    return InPlace(
        place=f"{unit.unit}/{position}",
        item=part.item,
        fitted_on=fitted.on,
        expires=None if part.expires is None else expiry_day(part.expires),
        opened_on=part.opened_on,
        hours=(unit.worn - fitted.worn_before) / AN_HOUR,
        shifts=unit.uses - fitted.uses_before,
        readings=() if loading is None else (Reading(scene.day(loading.at), loading.level),),
        refitted=part.condition == "refitted",
        planned_on=due_on(unit, scene) if _changed_at_examinations(unit, fitted, scene) else None,
        recalled=recalled,
    )


def _changed_at_examinations(unit: Unit, fitted: Fitted, scene: Scene) -> bool:
    came_with_it = fitted.on <= scene.day(unit.registered_at)
    return unit.examined is not None and fitted.on == unit.examined.on and not came_with_it


def _life(position: str, item: ItemDefined | None, model: ModelDefined | None) -> Life:
    limit = None if item is None else item.service_limit
    particle = model is not None and any(
        known.position == position and known.role == "particle" for known in model.positions
    )
    months = None if model is None else model.service_life_months
    return Life(
        days=None if limit is None else limit.days,
        hours=None if limit is None else limit.hours,
        shifts=None if limit is None else limit.shifts,
        after_opening_days=None if item is None else item.after_opening_days,
        stated_days=None if months is None else round(months * MONTH),
        change_at=model.loading.change_at if particle and model is not None and model.loading is not None else None,
    )
