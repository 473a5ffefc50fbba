"""What was done about units that a recall speaks of: last spoken of, first had in hand, ordered out of use.

The first its fold tells. Of a tag that was ever one unit's alone the index tells the rest; where tags hang together the
events of the kin are read, of components always, of others if they were spoken of since it matters or an order names
them. They are read, too, where the index does not tell when something was, if it was: of a day alone, and of what was
taken back.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import UTC, datetime
from functools import partial
from typing import Final, NamedTuple
from uuid import UUID

import msgspec

from service.assessing.aside import aside, pages
from service.assessing.lives import Lived
from service.assessing.moment import Question
from service.domain.facts import instant
from service.domain.kinds.quarantined import Quarantined
from service.domain.lodging import lodged, outermost
from service.domain.recall.acts import Acts, acts_of_units
from service.domain.recall.sighting import SIGHTINGS
from service.domain.recorded import Recorded
from service.domain.unit import Unit
from service.recording.filing import SPREAD
from service.store.events_of_subjects import events_of_subjects
from service.store.kins_with_tags import kins_with_tags
from service.store.spoken_since import NEVER, Since, Spoken, spoken_since

KINS: Final = 100
"""Kins whose events are read at a time: a kin of several tags may have many."""
UNITS: Final = 2000
"""Units of which it is read at a time when somebody first had them in hand."""

Orders = Mapping[str, Sequence[Recorded]]
"""What withdrew units for a recall, by tag."""
Asked = tuple[Lived, Sequence[datetime]]
"""A unit, and the moments since which it matters who had it in hand."""


class Said(msgspec.Struct, gc=False, frozen=True):
    """What was said of a unit: when last, when it was first had in hand since each moment asked about, its orders."""

    last: datetime | None
    sighted: tuple[datetime | None, ...]
    stopped: tuple[datetime, ...]


def may_sit(lived: Lived) -> bool:
    """Say whether a unit may have been fitted in another: where it was folded by then, that may come by a day alone."""
    return lived.entangled and (lived.stored is None or lived.life.unit.fitted_to is not None)


async def acts_of_components(question: Question, lived: Iterable[Lived], every: Iterable[Lived]) -> dict[UUID, Acts]:
    """Give the acts of all in whose kin is a component, of these units; `every` are those whose tags hang together."""
    kins = {one.tags for one in lived if may_sit(one)}
    return await entangled(question, [one for one in every if one.tags in kins]) if kins else {}


async def entangled(question: Question, lived: Iterable[Lived]) -> dict[UUID, Acts]:
    """Give the acts of those units, and of their kin, whose tags were not theirs alone, or that had several.

    What a unit is stored with tells all that is recorded of it: as long as that is of the same version, they are too.
    """
    memory, ours = question.known.acts, question.organisation
    tangled = {str(one.life.unit.unit): one for one in lived if one.entangled}
    versions = {name: one.stored.version for name, one in tangled.items() if one.stored is not None}
    known = memory.known(ours, versions)
    read = await _acts(question, dict.fromkeys(one.tags for name, one in tangled.items() if name not in known))
    for unit, acts in read.items():
        if (name := str(unit)) in versions and name not in known:
            memory.keep(ours, name, versions[name], acts, 1 + len(acts.acts))
    return read | {tangled[name].life.unit.unit: acts for name, acts in known.items()}


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
    found: dict[UUID, Acts] = {}
    for page in pages(kins, KINS):
        homes = {tag: tags[0] for tags in page for tag in tags}
        subjects = [f"asset:{tag}" for tag in homes]
        rows = await events_of_subjects(question.conn, question.organisation, subjects, until_seq=question.judged_to)
        found |= await aside(len(rows), partial(acts_of_units, rows, homes, question.as_at, question.world))
    return found


async def said_of_units(
    question: Question,
    asked: Sequence[Asked],
    recall: str | None,
    acts: Mapping[UUID, Acts],
) -> list[Said]:
    """Give what was said of units, in their order, each since these moments; `acts` are of whole kins, read before.

    Without a recall nothing was ordered.
    """
    many = len(asked)
    orders = {} if recall is None else await _orders(question, recall)
    unsure, alone = await aside(many, lambda: _divided(asked, acts, orders))
    first = await _first_since(question, alone)
    doubtful = {since.tag for since, spoken in first.items() if spoken.doubtful}
    doubtful |= {lived.life.unit.tag for lived, _ in alone if orders and _of_a_day(orders, lived.life.unit.tag)}
    read = {**acts, **await entangled(question, unsure), **await _acts(question, [[tag] for tag in doubtful])}
    known = _Known(recall, read, first, orders)
    return await aside(many, lambda: [*_said(question, asked, known)])


class _Divided(NamedTuple):
    """Units whose tags hang together of which events have to be read, and those whose tag is theirs alone."""

    unsure: list[Lived]
    alone: list[Asked]


def _divided(asked: Iterable[Asked], acts: Mapping[UUID, Acts], orders: Mapping[str, object]) -> _Divided:
    found = _Divided([], [])
    for lived, moments in asked:
        if not lived.entangled:
            found.alone.append((lived, moments))
        elif lived.life.unit.unit not in acts and _more_is_said(lived, moments, orders):
            found.unsure.append(lived)
    return found


def _more_is_said(lived: Lived, moments: Iterable[datetime], orders: Mapping[str, object]) -> bool:
    """Say whether more may be said of a unit whose tags hang together than when it was last spoken of."""
    since = any(lived.spoken >= moment for moment in moments)
    return may_sit(lived) or since or any(tag in orders for tag in lived.tags)


class _Known(NamedTuple):
    """What is known of units for a recall, as far as it was read: their acts, what the index tells, and the orders."""

    recall: str | None
    acts: Mapping[UUID, Acts]
    first: Mapping[Since, Spoken]
    orders: Orders


def _said(question: Question, asked: Iterable[Asked], known: _Known) -> Iterator[Said]:
    recall, read, first, orders = known
    for lived, moments in asked:
        unit = lived.life.unit
        mine = read.get(unit.unit) if read else None
        if mine is not None:
            stopped = () if recall is None else tuple(mine.stopped(recall))
            yield Said(mine.last, tuple(mine.sighted(since) for since in moments), stopped)
            continue
        if not first and not orders:
            yield Said(lived.spoken, (None,) * len(moments), ())
            continue
        sighted = tuple([first.get(Since(unit.tag, since), NEVER).at for since in moments])
        ordered = [_stopped(order, question) for order in orders.get(unit.tag, ())]
        yield Said(lived.spoken, sighted, tuple([moment for moment in ordered if moment <= question.as_at]))


async def _first_since(question: Question, wanted: Sequence[Asked]) -> dict[Since, Spoken]:
    """Give what the index tells of units first had in hand since each moment.

    What was last spoken of before that nobody had since.
    """
    asked = await aside(
        len(wanted),
        lambda: [Since(one.life.unit.tag, at) for one, moments in wanted for at in moments if one.spoken >= at],
    )
    found: dict[Since, Spoken] = {}
    for page in pages(asked, UNITS):
        first = await spoken_since(
            question.conn,
            question.organisation,
            page,
            kinds=SIGHTINGS,
            spread=SPREAD,
            at=question.as_at,
            until_seq=question.judged_to,
        )
        found |= zip(page, first, strict=True)
    return found


def _of_a_day(orders: Orders, tag: str) -> bool:
    """Say whether any order about a tag states its day alone: where the unit was then tells when that began."""
    return any(order.event.occurred_at is None for order in orders.get(tag, ()))


def _stopped(order: Recorded, question: Question) -> datetime:
    """Give since when an order that states its moment withdraws a unit: bad news counts no later than its receipt."""
    return min(instant(order.event, None, question.world), order.received_at.astimezone(UTC))


async def _orders(question: Question, recall: str) -> dict[str, list[Recorded]]:
    """Give by tag what withdrew units for a recall."""
    subjects = [f"recall:{recall}"]
    rows = await events_of_subjects(question.conn, question.organisation, subjects, until_seq=question.judged_to)
    found: dict[str, list[Recorded]] = {}
    for row in rows:
        if isinstance(row.event, Quarantined) and row.event.stops_for(recall):
            found.setdefault(row.event.asset, []).append(row)
    return found
