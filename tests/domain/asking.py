"""Asks a rule about a unit, for the tests of rules."""

from collections.abc import Callable
from datetime import datetime

from service.domain.scene import Scene
from service.domain.standing import FOREVER, Span
from service.domain.unit import Unit
from service.domain.world import World
from tests.domain.units import NOON, world

WORLD = world()
Judge = Callable[[Unit, Scene], tuple[Span, ...]]
Said = list[tuple[datetime, str, tuple[str, ...], list[int]]]


def said(judge: Judge, told: Unit, there: World = WORLD, since: datetime = NOON) -> Said:
    """Ask a rule from a moment on: since when, standing, reasons, and the numbers of the events it rests on."""
    spans = judge(told, Scene(since, FOREVER, there, told))
    assert spans[0].since == since
    assert spans[-1].until == FOREVER
    assert [one.until for one in spans[:-1]] == [one.since for one in spans[1:]]
    return [(one.since, one.standing, one.reasons, [ref.int for ref in one.because]) for one in spans]
