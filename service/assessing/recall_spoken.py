"""What a recall speaks of in units, found some units at a time: of others nothing is kept.

Of those whose tags hang together all is, since what is told of a component rests on the units that it sat in. Who had
and wore a unit is read once it is known since when that matters: of many units nearly all was over by then.
"""

from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime
from functools import partial
from typing import NamedTuple

from msgspec.structs import replace

from service.assessing.aside import aside
from service.assessing.lives import Lived, Lives, lives_by_page
from service.assessing.moment import Question
from service.assessing.spoken_of import kins_spoken_of
from service.assessing.stored_exposure import LifeSince, stored_exposure
from service.assessing.stored_lives import Exposure
from service.domain.recall.asking import Asking
from service.domain.recall.followed import Following, Lots
from service.domain.recall.impact import Held, Life, Meant, Touched, held, touched, touched_by
from service.domain.recall.opening import Opening
from service.domain.recall.wearings import Wearing

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
        many = len(page.every)
        holding = await aside(many, partial(_holding, page, asking, following))
        exposures = await stored_exposure(question, await aside(many, partial(_since, page, holding)))
        await aside(many, partial(_add, found, page, holding, exposures))
    await aside(len(found.spoken), partial(_complete, found, following.lots, asking))
    return found


def _holding(page: Lives, asking: Asking, following: Following) -> list[Held | None]:
    """Say of each unit what it holds or held that is spoken of."""
    for lived in page.every:
        following.add(lived.life.stays)
    return [held(lived.life, asking) for lived in page.every]


def _since(page: Lives, holding: Sequence[Held | None]) -> list[LifeSince | None]:
    """Say of units as they are stored since when it matters who had and wore them, if it does.

    Of those whose tags hang together it does since anything in any is spoken of: a component is told with those who
    had and wore what it sat in.
    """
    together: dict[tuple[str, ...], datetime] = {}
    for lived, holds in zip(page.every, holding, strict=True):
        if lived.entangled and holds is not None:
            begins = holds.spans.begins
            together[lived.tags] = min(together.get(lived.tags, begins), begins)
    return [_asked(lived, holds, together) for lived, holds in zip(page.every, holding, strict=True)]


def _asked(lived: Lived, holds: Held | None, together: Mapping[tuple[str, ...], datetime]) -> LifeSince | None:
    own = None if holds is None else holds.spans.begins
    since = together.get(lived.tags) if lived.entangled else own
    return None if since is None or lived.stored is None else LifeSince(lived.stored, since)


def _add(found: Found, page: Lives, holding: Sequence[Held | None], exposures: Sequence[Exposure | None]) -> None:
    for lived, holds, mine in zip(page.every, holding, exposures, strict=True):
        life = lived.life
        had, worn = (life.stays, life.worn) if mine is None else (mine.hands, mine.worn_by(life.at))
        if _may_be_followed(lived, () if holds is None else holds.meant):
            kept = lived if mine is None else replace(lived, life=_whole(life, mine, worn))
        else:
            kept = _told(lived)
        if lived.entangled:
            found.entangled.append(kept)
        if holds is not None:
            found.spoken.append((kept, touched_by(life, holds, had, worn)))
    found.expected.extend(page.expected)


def _whole(life: Life, mine: Exposure, worn: Sequence[Wearing]) -> Life:
    """Give a life with those who had and wore the unit."""
    return replace(life, stays=(*life.stays, *mine.hands), uses=mine.uses, own=tuple(worn))


def _may_be_followed(lived: Lived, meant: Iterable[Meant]) -> bool:
    """Say whether what was told of a part elsewhere may say more of one in a unit, or in what that sat in."""
    return lived.entangled or False in [one.sitting.certain for one in meant]


def _told(lived: Lived) -> Lived:
    """Leave out what a unit was asked: what is spoken of in it is told, and of very many it fills the memory."""
    return replace(lived, life=replace(lived.life, stays=(), uses=(), own=()), stored=None)


def _complete(found: Found, lots: Lots, asking: Asking) -> None:
    """Let parts that were followed by a serial number be known by what was told of them in any unit; put in order."""
    if lots:
        found.entangled[:] = [_knowing(lived, lots) for lived in found.entangled]
        found.spoken[:] = [_anew(one, lots, asking) for one in found.spoken]
    found.spoken.sort(key=lambda one: one[0].life.unit.tag)  # of one tag they are in order


def _anew(one: Spoken, lots: Lots, asking: Asking) -> Spoken:
    lived, told = one
    if not _may_be_followed(lived, told.meant):
        return one
    knowing = _knowing(lived, lots)
    return knowing if lived.entangled else _told(knowing), touched(knowing.life, asking) or told


def _knowing(lived: Lived, lots: Lots) -> Lived:
    return replace(lived, life=replace(lived.life, lots=lots))
