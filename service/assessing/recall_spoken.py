"""What a recall speaks of in units, found some units at a time: of others nothing is kept.

Of those whose tags hang together all is, since what is told of a component rests on the units that it sat in.
"""

from collections.abc import Sequence
from functools import partial
from typing import NamedTuple

from msgspec.structs import replace

from service.assessing.aside import aside
from service.assessing.lives import Lived, Lives, lives_by_page
from service.assessing.moment import Question
from service.assessing.spoken_of import kins_spoken_of
from service.domain.recall.asking import Asking
from service.domain.recall.followed import Following, Lots
from service.domain.recall.impact import Life, Touched, touched
from service.domain.recall.opening import Opening

Spoken = tuple[Lived, Touched]
"""A unit, and what is spoken of in it."""


class Found(NamedTuple):
    """The units spoken of, by tag, those whose tags hang together, spoken of or not, and those to be expected."""

    spoken: list[Spoken]
    entangled: list[Lived]
    expected: list[Life]


async def units_spoken_of(question: Question, openings: Sequence[Opening], asking: Asking) -> Found:
    """Find the units that openings of a recall speak of, or once did."""
    found, following = Found([], [], []), Following()
    async for page in lives_by_page(question, await kins_spoken_of(question, openings)):
        await aside(len(page.every), partial(_add, found, page, asking, following))
    await aside(len(found.spoken), partial(_complete, found, following.lots, asking))
    return found


def _add(found: Found, page: Lives, asking: Asking, following: Following) -> None:
    for lived in page.every:
        following.add(lived.life.stays)
        told = touched(lived.life, asking)
        if lived.entangled:
            found.entangled.append(lived)
        if told is not None:
            found.spoken.append((lived if _may_be_followed(lived, told) else _told(lived), told))
    found.expected.extend(page.expected)


def _may_be_followed(lived: Lived, told: Touched) -> bool:
    """Say whether what was told of a part elsewhere may say more of one in it, or in what it sat in."""
    return lived.entangled or any(not one.sitting.certain for one in told.meant)


def _told(lived: Lived) -> Lived:
    """Leave out what a unit was asked: what is spoken of in it is told, and of very many it fills the memory."""
    return replace(lived, life=replace(lived.life, stays=(), uses=(), own=()))


def _complete(found: Found, lots: Lots, asking: Asking) -> None:
    """Let parts that were followed by a serial number be known by what was told of them in any unit; put in order."""
    if lots:
        found.entangled[:] = [_knowing(lived, lots) for lived in found.entangled]
        found.spoken[:] = [_anew(one, lots, asking) for one in found.spoken]
    found.spoken.sort(key=lambda one: one[0].life.unit.tag)  # of one tag they are in order


def _anew(one: Spoken, lots: Lots, asking: Asking) -> Spoken:
    lived, told = one
    if not _may_be_followed(lived, told):
        return one
    knowing = _knowing(lived, lots)
    return knowing if lived.entangled else _told(knowing), touched(knowing.life, asking) or told


def _knowing(lived: Lived, lots: Lots) -> Lived:
    return replace(lived, life=replace(lived.life, lots=lots))
