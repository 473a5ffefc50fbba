"""Listed parts: the parts fitted, and their combination, are those listed for the model.

An approval is of the assembly: a part that is not listed voids it (NIOSH 2013-146 abstract, read). Positions of which
nothing was ever said are not judged.
"""

from service.domain.kinds.model_defined import ModelDefined
from service.domain.scene import Scene
from service.domain.standing import Mark, Source, Span, always, steps
from service.domain.unit import Fitted, Unit

SOURCE = Source("the approval is of the assembly; an unlisted part voids it", "NIOSH 2013-146", "read")


def goes_by(unit: Unit, _scene: Scene) -> tuple[object, ...]:
    """Name what the rule goes by."""
    return (unit.parts,)


def judge(unit: Unit, scene: Scene) -> tuple[Span, ...]:
    """Say whether a part is unlisted, a required position was emptied, or no approved combination fits."""
    model = scene.model
    if model is None or not unit.parts:
        return always(scene.since, scene.until, "out-of-scope", SOURCE)
    faults = {position: fault for position, fitted in unit.parts.items() if (fault := _fault(position, fitted, model))}
    if not faults and not _assembled(unit, model):
        faults = dict.fromkeys(unit.parts, "unlisted-part")
    if not faults:
        return always(scene.since, scene.until, "in-date", SOURCE)
    because = tuple(dict.fromkeys(unit.parts[position].event for position in sorted(faults)))
    mark: Mark = (scene.since, "do-not-use", tuple(sorted(set(faults.values()))), because)
    return steps(scene.since, scene.until, [mark], SOURCE)


def _fault(position: str, fitted: Fitted, model: ModelDefined) -> str | None:
    listed = next((known for known in model.positions if known.position == position), None)
    if fitted.part is None:
        return "missing-part" if listed is not None and listed.required else None
    return None if listed is not None and fitted.part.item in listed.items else "unlisted-part"


def _assembled(unit: Unit, model: ModelDefined) -> bool:
    """Say whether one approved combination allows every part whose position it names."""
    items = {position: fitted.part.item for position, fitted in unit.parts.items() if fitted.part is not None}
    return not model.assemblies or any(
        all(items[position] in allowed for position, allowed in assembly.items.items() if position in items)
        for assembly in model.assemblies
    )
