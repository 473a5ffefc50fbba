"""Filter life: loading at the change mark, service limits, shelf life, and the change schedule of gas filters.

Sources: 29 CFR 1910.134(d)(3)(iii)(B) for gas filters (second-hand); the loading mark and the maker's limits are common
practice, given by the firm's own models and items.
"""

from collections.abc import Iterator

from service.domain.kinds.model_defined import ModelDefined
from service.domain.part_life import ends, opened_ends, overlay, warned, without_schedule, worked
from service.domain.scene import Scene
from service.domain.standing import Mark, Source, Span, always, steps
from service.domain.unit import Fitted, Unit

SOURCE = Source("29 CFR 1910.134(d)(3)(iii)(B): changed before the end of service life", "29 CFR", "second-hand")
FILTERS = frozenset({"particle", "gas", "pre-filter", "spark-arrestor"})


def judge(unit: Unit, scene: Scene) -> tuple[Span, ...]:
    """Say when a filter is to be changed, or must not be used; nothing to judge without a filter position."""
    model = scene.model
    filters = [known for known in model.positions if known.role in FILTERS] if model is not None else []
    if model is None or not filters:
        return always(scene.since, scene.until, "out-of-scope", SOURCE)
    marks: list[Mark] = []
    for known in filters:
        fitted = unit.parts.get(known.position)
        if fitted is not None:
            marks += (*_dated(unit, fitted, scene, gas=known.role == "gas"), *_loaded(fitted, model))
    return steps(scene.since, scene.until, overlay(scene.since, marks), SOURCE)


def _dated(unit: Unit, fitted: Fitted, scene: Scene, *, gas: bool) -> Iterator[Mark]:
    yield from warned((*ends(fitted, scene), *opened_ends(unit, fitted, scene, gas=gas)), scene)
    yield from worked(unit, fitted, scene)
    if gas:
        yield from without_schedule(unit, fitted, scene)


def _loaded(fitted: Fitted, model: ModelDefined) -> Iterator[Mark]:
    """Give the moment a reading stood at or beyond the change mark."""
    if model.loading is None or fitted.loading is None or fitted.loaded is None:
        return
    if fitted.loading >= model.loading.change_at:
        yield fitted.loaded.at, "overdue", ("loading",), (fitted.loaded.event,)
