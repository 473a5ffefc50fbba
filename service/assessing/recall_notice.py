"""The notice of a recall for each site: its units to be dealt with, where they are, and what is in stock."""

from collections.abc import Iterable, Iterator, Mapping
from datetime import datetime
from uuid import UUID

import msgspec

from service.assessing.catalogue import items_of
from service.assessing.moment import Question
from service.assessing.recall_reached import Impact, Reached
from service.assessing.recall_told import RecallSaid, asks
from service.assessing.recall_unknown import undefined, unknown
from service.domain.recall.asks import Asks
from service.domain.recall.impact import Sitting
from service.domain.recall.spare import Spare
from service.domain.recall.unknown import Unknown
from service.domain.standing import BEGINNING


class NoticeUnit(msgspec.Struct, frozen=True, kw_only=True):
    """A unit to be dealt with: what of it is meant, where it is, who has it and who wore it last, by reference.

    Of a component, in which unit (`host`) it is, and who has and wore that one. `reason`: why it was not dealt with, as
    said when the campaign was closed. `asks` is what is to be done about it, which may be less than about others.
    """

    asset: str
    asks: Asks
    model: str
    serial: str
    phase: str
    certain: bool
    meant: tuple[Sitting, ...]
    host: str | None
    place: str | None
    holder: str | None
    last_wearer: str | None
    put_away_at: datetime | None
    reason: str | None


class Called(msgspec.Struct, frozen=True, kw_only=True):
    """What is printed on the boxes of an item, as far as the firm has defined it.

    The part numbers and GTINs are all that it has had, the newest first: an old box still has those of its day.
    """

    item: str
    name: str
    part_numbers: tuple[str, ...]
    gtins: tuple[str, ...]


class SiteNotice(msgspec.Struct, frozen=True, kw_only=True):
    """What one site is told; `unknown` are sentences, each with its count."""

    site: str
    name: str | None
    units: tuple[NoticeUnit, ...]
    stock: tuple[Spare, ...]
    unknown: tuple[tuple[int, str], ...]


class Notice(msgspec.Struct, frozen=True, kw_only=True):
    """A recall, what the sites are told of it, and what that rests on; `wordless` for readers of no free text.

    `unknown` is told where no site is. `items` are those that it names.
    """

    recall: RecallSaid
    sites: tuple[SiteNotice, ...]
    items: tuple[Called, ...]
    unknown: tuple[tuple[int, str], ...]
    as_at: datetime
    known_at: datetime
    judged_to: int
    projection: bool
    wordless: bool


Reasons = Mapping[UUID, str | None]
"""By unit, why it was not dealt with."""


def notice(
    question: Question,
    recall: RecallSaid,
    impact: Impact,
    sites: Iterable[str],
    reasons: Reasons,
    numbered: Mapping[Unknown, int],
) -> Notice:
    """Give the notice for sites; `numbered` are criteria with serial numbers of something else."""
    nobody = tuple((one.count, one.says) for one in undefined(question, impact, numbered))
    told = (_site(question, recall, site, there, reasons) for site, there in impact.at_each(sites))
    return Notice(
        recall=recall,
        sites=tuple(msgspec.structs.replace(one, unknown=(*nobody, *one.unknown)) for one in told),
        items=tuple(_called(question, recall, impact)),
        unknown=nobody,
        as_at=question.as_at,
        known_at=question.known_at,
        judged_to=question.judged_to,
        projection=question.as_at > question.known_at,
        wordless=question.nameless,
    )


def _called(question: Question, recall: RecallSaid, impact: Impact) -> Iterator[Called]:
    """Give the items that the criteria name, that are in units to be dealt with, or in stock."""
    outstanding = [one for one in impact.units if one.outstanding]
    meant = {item for one in outstanding for sitting in one.touched.sittings for item in _items(one, sitting)}
    named = {*(one.item for one in recall.criteria), *meant, *(one.item for one in impact.stock)}
    timelines = question.world.rulebook.items.timelines
    for item in (one for ref, one in items_of(question).items() if ref in named):
        versions = [one.event for one in reversed(timelines[f"item:{item.item}"].during(BEGINNING, question.as_at))]
        yield Called(
            item=item.item,
            name=item.name,
            part_numbers=tuple(dict.fromkeys(one.part_number for one in versions if one.part_number is not None)),
            gtins=tuple(dict.fromkeys(one.gtin for one in versions if one.gtin is not None)),
        )


def _items(one: Reached, sitting: Sitting) -> Iterable[str]:
    """Name the item, or those that are listed where nothing was ever said of what sits there."""
    if sitting.item is not None or sitting.position is None:
        return () if sitting.item is None else (sitting.item,)
    return one.lived.life.listing.get(sitting.position, ())


def _site(question: Question, recall: RecallSaid, site: str, impact: Impact, reasons: Reasons) -> SiteNotice:
    outstanding = [(one, asks(one, recall, impact.campaign)) for one in impact.units if one.outstanding]
    defined = question.world.rulebook.site(site, question.as_at)
    return SiteNotice(
        site=site,
        name=None if defined is None else defined.name,
        units=tuple(_unit(question, one, asked, reasons.get(one.unit.unit)) for one, asked in outstanding),
        stock=impact.stock,
        unknown=tuple((one.count, one.says) for one in unknown(impact)),
    )


def _unit(question: Question, one: Reached, asked: Asks, reason: str | None) -> NoticeUnit:
    unit, bearer = one.unit, one.unit if one.host is None else one.host.life.unit
    worn, holder = bearer.last_wearer, unit.holder or bearer.holder
    held = None if holder is None else question.told({"holder": holder})["holder"]
    last = None if worn is None else question.told({"person": worn.person})["person"]
    return NoticeUnit(
        asset=unit.tag,
        asks=asked,
        model=unit.model,
        serial=unit.serial,
        phase=one.lived.standing.phase,
        certain=one.touched.certain,
        meant=tuple(sitting for sitting in one.touched.sittings if sitting.state == "affected"),
        host=None if one.host is None else bearer.tag,
        place=unit.place or bearer.place,
        holder=None if held is None else " ".join(f"{sort} {ref}" for sort, ref in msgspec.to_builtins(held).items()),
        last_wearer=last,
        put_away_at=one.put_away_at,
        reason=reason,
    )
