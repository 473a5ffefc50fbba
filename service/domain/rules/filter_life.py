"""Filter life: loading at the change mark, service limits, shelf life, and the change schedule of gas filters.

Sources: 29 CFR 1910.134(d)(3)(iii)(B) for gas filters (second-hand); the loading mark and the maker's limits are common
practice, given by the firm's own models and items.
"""

from collections.abc import Iterator

from service.domain.kinds.model_defined import ModelDefined
from service.domain.part_life import ends, opened_ends, opening, overlay, warned, without_schedule, worked
from service.domain.scene import Scene
from service.domain.standing import Mark, Source, Span, always, steps
from service.domain.unit import Fitted, Loading, Unit

SOURCE = Source("29 CFR 1910.134(d)(3)(iii)(B): changed before the end of service life", "29 CFR", "second-hand")
FILTERS = frozenset({"particle", "gas", "pre-filter", "spark-arrestor"})


def goes_by(unit: Unit, scene: Scene) -> tuple[object, ...]:
    """Name what the rule goes by: of the loading readings only those at the mark."""
    model = scene.model
    marked = [] if model is None else [loading for loading in unit.loadings.values() if at_mark(loading, model)]
    return (scene.unit.parts, *marked)


def judge(unit: Unit, scene: Scene) -> tuple[Span, ...]:
    """Say when a filter is to be changed, or must not be used; nothing to judge without a filter position."""
    model = scene.model
    filters = [known for known in model.positions if known.role in FILTERS] if model is not None else []
    if model is None or not filters:
        return always(scene.since, scene.until, "out-of-scope", SOURCE)
    marks: list[Mark] = []
    for known in filters:
        fitted = scene.unit.parts.get(known.position)
        if fitted is not None:
            marks += _dated(fitted, scene, gas=known.role == "gas")
        marks += _loaded(unit.loadings.get(known.position), model)
    return steps(scene.since, scene.until, overlay(scene.since, marks), SOURCE)


def _dated(fitted: Fitted, scene: Scene, *, gas: bool) -> Iterator[Mark]:
    opened = opening(fitted, scene, gas=gas)
    yield from warned(ends(fitted, scene), scene, fitted.at)
    if opened is not None:
        yield from warned(opened_ends(fitted, opened, scene), scene, opened.at)
    yield from worked(fitted, scene)
    if gas:
        yield from without_schedule(fitted, opened, scene)


def _loaded(loading: Loading | None, model: ModelDefined) -> Iterator[Mark]:
    """Give the moment a reading stood at or beyond the change mark."""
    if loading is not None and at_mark(loading, model):
        yield loading.at, "overdue", ("loading",), (loading.event,)


def at_mark(loading: Loading, model: ModelDefined) -> bool:
    """Say whether a reading stands at or beyond the model's change mark."""
    return model.loading is not None and loading.level >= model.loading.change_at
