"""What is answered about a recall: what it asks, and what it has done by unit, by site and over time."""

from collections.abc import Iterable, Mapping
from datetime import date, datetime
from functools import partial

import msgspec

from service.assessing.moment import Question
from service.assessing.recall_counts import Counts, counted
from service.assessing.recall_reached import Impact, Reached
from service.assessing.recall_unknown import uncertain_parts, unknown
from service.domain.kinds.recall_opened import Action, Criterion
from service.domain.recall.asks import Ask, Asks, asked_by, asked_of, most_of
from service.domain.recall.campaign import Campaign
from service.domain.recall.opening import Opening
from service.domain.recall.progress import Day, progress
from service.domain.recall.rehearsal import Pace, Took, pace


class OpeningSaid(msgspec.Struct, frozen=True, kw_only=True):
    """One opening of a recall, with the words of its notice as far as there are any."""

    opened_at: datetime
    action: Action
    due_on: date | None
    criteria: tuple[Criterion, ...]
    notice: str | None
    voided_at: datetime | None


class RecallSaid(msgspec.Struct, frozen=True, kw_only=True):
    """A recall as it was opened; `recall` and the moments are None for what was only asked about.

    The `openings` are told in order of time, if any was made, those that were voided, too; the `notice` is the last of
    those that stand.
    """

    recall: str | None = None
    action: Action | None
    due_on: date | None
    rehearsal: bool = False
    opened_at: datetime | None = None
    closed_at: datetime | None = None
    voided_at: datetime | None = None
    criteria: tuple[Criterion, ...]
    notice: str | None = None
    openings: tuple[OpeningSaid, ...] = ()

    @property
    def asks(self) -> Asks:
        """Give all that is asked by the openings that stand, or by all of them where none does."""
        return asked_by([one for one in self.openings if one.voided_at is None] or self.openings)


async def said(question: Question, campaigns: Iterable[Campaign]) -> list[RecallSaid]:
    """Tell recalls, each with the texts of its notices as far as they are kept and for this reader."""
    every = list(campaigns)
    texts = await question.texts(opening.event for one in every for opening in one.openings)
    return [_said(question, one, {event: found.get("notice") for event, found in texts.items()}) for one in every]


def _said(question: Question, campaign: Campaign, notices: dict[object, str | None]) -> RecallSaid:
    made = {one.event: one for one in reversed(campaign.openings)}  # of one that counts again at its receipt, the first
    given = [notice for one in campaign.meant if (notice := notices.get(one.event)) is not None]
    return RecallSaid(
        recall=campaign.recall,
        action=campaign.most.action,
        due_on=campaign.most.due_on,
        rehearsal=campaign.rehearsal,
        opened_at=campaign.at,
        closed_at=None if campaign.closing is None else campaign.closing.at,
        voided_at=_by_then(question, campaign.voided_at),
        criteria=tuple(dict.fromkeys(criterion for one in campaign.meant for criterion in one.criteria)),
        notice=given[-1] if given else None,
        openings=tuple(
            _opening(question, one, notices.get(one.event)) for one in sorted(made.values(), key=lambda one: one.key)
        ),
    )


def _opening(question: Question, one: Opening, notice: str | None) -> OpeningSaid:
    return OpeningSaid(
        opened_at=one.at,
        action=one.action,
        due_on=one.due_on,
        criteria=one.criteria,
        notice=notice,
        voided_at=_by_then(question, one.until),
    )


def _by_then(question: Question, at: datetime | None) -> datetime | None:
    """Leave out a moment that is still to come."""
    return at if at is not None and at <= question.as_at else None


def whole(question: Question, recall: RecallSaid, impact: Impact, measured: Impact) -> dict[str, object]:
    """Give what an answer tells beside the units: of all of them, and where they are.

    `measured` is what a rehearsal had done while it went on.
    """
    total, sites = counted(impact)
    return {
        **question.about(),
        "recall": recall,
        "total": total,
        "sites": by_site(sites),
        "progress": _progress(question, impact),
        "stock": impact.stock,
        "unknown": unknown(impact),
        "rehearsal": _rehearsal(measured) if recall.rehearsal else None,
    }


def by_site(sites: Mapping[str, Counts]) -> list[dict[str, object]]:
    """Tell what was counted at each site."""
    return [{"site": site, **msgspec.structs.asdict(counts)} for site, counts in sites.items()]


def _progress(question: Question, impact: Impact) -> list[Day]:
    """Tell what was done day by day; of what was only asked about nothing was, and nothing is told."""
    return progress(impact.courses, question.world.day)


def _rehearsal(impact: Impact) -> dict[str, object]:
    """Measure how long it took, and count what would have been missed: what was retired before is not looked for."""
    affected = [one for one in impact.units if one.touched.affected]
    return {
        "located": _pace(impact, "located_at"),
        "put_away": _pace(impact, "put_away_at"),
        "not_located": sum(not one.gone and one.located_at is None for one in affected),
        "parts_unknown": sum(map(uncertain_parts, affected)),
        "stock_unknown": sum(not one.certain for one in impact.stock),
    }


def _pace(impact: Impact, step: str) -> Pace:
    return pace(map(partial(_took, step), (one for one in impact.under if not one.gone)))


def _took(step: str, one: Reached) -> Took:
    at: datetime | None = getattr(one, step)
    return Took(one.unit.tag, one.site, None if at is None or one.since is None else at - one.since)


def asks(one: Reached, recall: RecallSaid, campaign: Campaign | None) -> Asks:
    """Give what is asked of a unit, which may be less than of others; none where nothing is to be done about it."""
    if not one.outstanding or recall.action is None:
        return ()
    return (Ask(recall.action, recall.due_on),) if campaign is None else asked_of(one.lived.life, campaign.openings)


def line(one: Reached, asked: Asks, reason: str | None) -> dict[str, object]:
    """Give what is told of a unit, what is asked of it, and why it was not dealt with."""
    standing, touched, unit, host = one.lived.standing, one.touched, one.unit, one.host
    most = most_of(asked) if asked else None
    return {
        "asset": unit.tag,
        "unit": unit.unit,
        "serial": unit.serial,
        "host": None if host is None else host.life.unit.tag,
        "site": one.site,
        "model": standing.model,
        "phase": standing.phase,
        "standing": standing.standing,
        "do_not_use": standing.do_not_use,
        "affected": touched.affected,
        "certain": touched.certain,
        "outstanding": one.outstanding,
        "action": None if most is None else most.action,
        "due_on": None if most is None else most.due_on,
        "asks": asked,
        "last_spoken_at": one.last_spoken_at,
        "located_at": one.located_at,
        "stopped_at": one.stopped_at,
        "put_away_at": one.put_away_at,
        "remedied_at": one.remedied_at,
        "sittings": touched.sittings,
        "hands": touched.hands,
        "wearers": touched.wearers,
        "reason": reason,
    }
