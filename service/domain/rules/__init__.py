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
    thorough_examination,
    withdrawal,
)
from service.domain.scene import Scene
from service.domain.standing import Span
from service.domain.unit import Unit


class Rule(msgspec.Struct, frozen=True):
    """One duty by the name that answers show."""

    name: str
    judge: Callable[[Unit, Scene], tuple[Span, ...]]


RULES: tuple[Rule, ...] = (
    Rule("thorough-examination", thorough_examination.judge),
    Rule("pre-use-check", pre_use_check.judge),
    Rule("cleaning", cleaning.judge),
    Rule("filter-life", filter_life.judge),
    Rule("power", power.judge),
    Rule("withdrawal", withdrawal.judge),
    Rule("listed-parts", listed_parts.judge),
)
