"""What was done about units that a recall speaks of: last spoken of, first had in hand, ordered out of use.

Of a tag that was ever one unit's alone the index tells it. Of others the events of the kin are read, and so they are
where the index does not tell when something was, if it was: of a day alone, and of what was taken back.
"""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime
from typing import NamedTuple
from uuid import UUID

from service.assessing.lives import Lived
from service.assessing.moment import Question
from service.domain.facts import instant
from service.domain.kinds.quarantined import Quarantined
from service.domain.lodging import lodged, outermost
from service.domain.recall.acts import Acts, acts_of_units
from service.domain.recall.sighting import SIGHTINGS
from service.domain.unit import Unit
from service.recording.filing import SPREAD
from service.store.events_of_subjects import events_of_subjects
from service.store.kins_with_tags import kins_with_tags
from service.store.last_spoken import NEVER, Spoken, last_spoken
from service.store.spoken_since import Since, spoken_since


class Said(NamedTuple):
    """What was said of a unit: when last, when it was first had in hand since each moment asked about, its orders."""

    last: datetime | None
    sighted: tuple[datetime | None, ...]
    stopped: tuple[datetime, ...]


async def entangled(question: Question, lived: Sequence[Lived]) -> dict[UUID, Acts]:
    """Give the acts of those units, and of their kin, whose tags were not theirs alone, or that had several."""
    twice = Counter(one.life.unit.tag for one in lived)
    kins = await kins_with_tags(question.conn, question.organisation, twice)
    return await _acts(
        question, [tags for tags in kins.values() if len(tags) > 1 or any(twice[tag] > 1 for tag in tags)]
    )


async def hosts_of(question: Question, components: Iterable[Unit]) -> dict[UUID, UUID]:
    """Give by component the unit that it is fitted in at the moment; none where it is in no other."""
    tags = {unit.unit: unit.tag for unit in components}
    kins = await kins_with_tags(question.conn, question.organisation, tags.values())
    acts = await _acts(question, kins.values())
    fitted = {unit: mine.fitted for unit, mine in acts.items()}
    lodgings = ((unit, lodged(outermost(unit, fitted), question.as_at)) for unit in tags)
    return {unit: one.host for unit, one in lodgings if one is not None}


async def _acts(question: Question, kins: Iterable[Sequence[str]]) -> dict[UUID, Acts]:
    """Read the events of kins, each given by its tags."""
    homes = {tag: tags[0] for tags in kins for tag in tags}
    if not homes:
        return {}
    rows = await events_of_subjects(
        question.conn, question.organisation, [f"asset:{tag}" for tag in homes], until_seq=question.judged_to
    )
    return acts_of_units(rows, homes, question.as_at, question.world)


async def said_of_units(
    question: Question,
    asked: Sequence[tuple[Lived, Sequence[datetime]]],
    recall: str | None,
    acts: Mapping[UUID, Acts],
) -> list[Said]:
    """Give what was said of units, in their order, each since these moments; `acts` are those of entangled units.

    Without a recall nothing was ordered.
    """
    wanted = {one.life.unit.tag: moments for one, moments in asked if one.life.unit.unit not in acts}
    found = await _by_tag(question, wanted)
    orders = {} if recall is None else await _orders(question, recall)
    doubtful = [tag for tag, spoken in found.items() if any(one.doubtful for one in spoken) or _of_a_day(orders, tag)]
    read = {**acts, **await _acts(question, [[tag] for tag in doubtful])}
    told: list[Said] = []
    for unit, moments in ((lived.life.unit, moments) for lived, moments in asked):
        mine = read.get(unit.unit)
        if mine is not None:
            stopped = () if recall is None else tuple(mine.stopped(recall))
            told.append(Said(mine.last, tuple(mine.sighted(since) for since in moments), stopped))
            continue
        last, *since = found[unit.tag]
        ordered = (instant(order, None, question.world) for order in orders.get(unit.tag, ()))
        stopped = tuple(moment for moment in ordered if moment <= question.as_at)
        told.append(Said(last.at, tuple(one.at for one in since), stopped))
    return told


async def _by_tag(question: Question, wanted: Mapping[str, Sequence[datetime]]) -> dict[str, list[Spoken]]:
    """Give what the index tells of tags: when they were last spoken of, and then what since each moment.

    What was last spoken of before a moment nobody had in hand since.
    """
    found = await last_spoken(
        question.conn,
        question.organisation,
        wanted,
        spread=SPREAD,
        at=question.as_at,
        until_seq=question.judged_to,
    )
    last = dict(zip(wanted, found, strict=True))
    asked = [Since(tag, since) for tag, moments in wanted.items() for since in moments if last[tag].reaches(since)]
    first = await spoken_since(
        question.conn,
        question.organisation,
        asked,
        kinds=SIGHTINGS,
        spread=SPREAD,
        at=question.as_at,
        until_seq=question.judged_to,
    )
    since = dict(zip(asked, first, strict=True))
    return {tag: [last[tag], *(since.get(Since(tag, one), NEVER) for one in wanted[tag])] for tag in wanted}


def _of_a_day(orders: Mapping[str, Sequence[Quarantined]], tag: str) -> bool:
    """Say whether any order about a tag states its day alone: where the unit was then tells when that began."""
    return any(order.occurred_at is None for order in orders.get(tag, ()))


async def _orders(question: Question, recall: str) -> dict[str, list[Quarantined]]:
    """Give by tag what withdrew units for a recall."""
    subjects = [f"recall:{recall}"]
    rows = await events_of_subjects(question.conn, question.organisation, subjects, until_seq=question.judged_to)
    found: dict[str, list[Quarantined]] = {}
    for event in (row.event for row in rows):
        if isinstance(event, Quarantined) and event.stops_for(recall):
            found.setdefault(event.asset, []).append(event)
    return found
