"""The rules: what each duty says of a unit. One file a rule, listed here in the order in which answers show them.

A rule is pure: `judge(unit, scene)` gives spans that fill [scene.since, scene.until) without a gap, for the unit as it
stands at the start and as if it were in scope. To add one, write its file and add its line.
"""

from collections.abc import Callable

import msgspec

from service.domain.rules import (
    cleaning,
    filter_life,
    listed_parts,
    power,
    pre_use_check,
    recall,
    thorough_examination,
    withdrawal,
)
from service.domain.scene import Scene
from service.domain.standing import Span
from service.domain.unit import Unit


class Rule(msgspec.Struct, frozen=True):
    """One duty by the name that answers show; `goes_by` names what of a unit its judgement rests on.

    Beside that it may go by the unit's site, model and use, and by uses to come through the scene. As long as all of it
    stays the same, so does what the rule says.
    """

    name: str
    judge: Callable[[Unit, Scene], tuple[Span, ...]]
    goes_by: Callable[[Unit, Scene], tuple[object, ...]]


RULES: tuple[Rule, ...] = (
    Rule("thorough-examination", thorough_examination.judge, thorough_examination.goes_by),
    Rule("pre-use-check", pre_use_check.judge, pre_use_check.goes_by),
    Rule("cleaning", cleaning.judge, cleaning.goes_by),
    Rule("filter-life", filter_life.judge, filter_life.goes_by),
    Rule("power", power.judge, power.goes_by),
    Rule("withdrawal", withdrawal.judge, withdrawal.goes_by),
    Rule("listed-parts", listed_parts.judge, listed_parts.goes_by),
    Rule("recall", recall.judge, recall.goes_by),
)
