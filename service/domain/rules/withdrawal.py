"""Withdrawal: a unit that failed, or is withdrawn for any reason, is not used before its ground is on record.

Sources: COSHH 2002 reg 9(5) and L5 para 186 (read); 29 CFR 1910.134(h)(4) (second-hand).
"""

from service.domain.scene import Scene
from service.domain.standing import Source, Span, always
from service.domain.unit import Unit
from service.domain.withdrawal import withdrawn

SOURCES = {
    "uk": Source(
        "COSHH 2002 reg 9(5): defective items are repaired or replaced before further use", "SI 2002/2677", "read"
    ),
    "us": Source("29 CFR 1910.134(h)(4): removed from service, then discarded or repaired", "29 CFR", "second-hand"),
}
PRACTICE = Source("a unit that failed is not used", "common practice", "common-practice")


def goes_by(unit: Unit, _scene: Scene) -> tuple[object, ...]:
    """Name what the rule goes by."""
    return (unit.held, unit.recheck, unit.unresolved, unit.components)


def judge(unit: Unit, scene: Scene) -> tuple[Span, ...]:
    """Say whether a reason is held, a recheck is owed, or a report of a failure is not resolved."""
    source = SOURCES.get(scene.profile or "", PRACTICE)
    speaking = withdrawn(unit)
    if not speaking:
        return always(scene.since, scene.until, "in-date", source)
    because = tuple(cause.event for cause in unit.held) + (() if unit.recheck is None else (unit.recheck.event,))
    return (Span(scene.since, scene.until, "do-not-use", speaking, tuple(dict.fromkeys(because)), source),)
