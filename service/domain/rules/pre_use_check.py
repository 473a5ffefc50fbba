"""The pre-use check: every use is covered by a complete passing check, for the wearer it was done for.

A use outside cover is a breach until a check for that wearer, a passing examination, or the return. How long a check
covers is a policy's choice (twelve hours by default, this service's own, not law). Sources: the reference tables.
"""

from service.domain.scene import Scene
from service.domain.standing import Mark, Span, steps
from service.domain.unit import Breach, Unit


def goes_by(unit: Unit, _scene: Scene) -> tuple[object, ...]:
    """Name what the rule goes by."""
    return (unit.breaches, unit.cover)


def judge(unit: Unit, scene: Scene) -> tuple[Span, ...]:
    """Say from when on a use stands outside the cover of a check."""
    marks: list[Mark] = [(scene.since, "in-date", (), () if unit.cover is None else (unit.cover.event,))]
    begun: list[Breach] = []
    for breach in sorted(unit.breaches, key=lambda breach: breach.since):
        begun.append(breach)
        reasons = tuple(sorted({known.reason for known in begun}))
        because = tuple(known.event for known in begun if known.event is not None)
        marks.append((breach.since, "overdue", reasons, because))
    return steps(scene.since, scene.until, marks, scene.terms.pre_use.source)
