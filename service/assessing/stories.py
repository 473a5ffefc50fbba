"""The standing of units at a moment and over a period: stored where that is as it was known, else folded in memory."""

from collections.abc import Collection, Iterable, Iterator, Sequence
from datetime import datetime
from functools import partial
from uuid import UUID

import msgspec

from service.assessing.aside import aside
from service.assessing.moment import Question
from service.domain.event import AssetEvent, Event
from service.domain.facts import instant
from service.domain.fold import Story
from service.domain.intervals import Interval
from service.domain.kinds.recall_opened import RecallOpened
from service.domain.kinds.voided import Voided
from service.domain.placing import SITELESS
from service.domain.scene import Scene
from service.domain.standing import FOREVER
from service.domain.unit import Unit
from service.domain.wearing import Use, pass_time
from service.recording.filing import ZONES
from service.recording.loading import load_drafts, load_rows
from service.recording.recalled import kins_recalled
from service.recording.references import changed
from service.recording.rows import SEEN, Left, Seen, left_of, unpacked
from service.store.contradicted_after import contradicted_after
from service.store.failure_reports import failure_reports
from service.store.intervals_between import UnitInterval, intervals_between
from service.store.issued_units import IssuedUnit, issued_units
from service.store.kins_depending_on import kins_depending_on
from service.store.kins_of_tags import kins_of_tags
from service.store.kins_touched_after import kins_touched_after
from service.store.units_of_kins import units_of_kins


class Past(msgspec.Struct, frozen=True):
    """What has to be folded in memory: the stories as known then, and the units whose stored rows say more."""

    stories: tuple[Story, ...] = ()
    units: frozenset[UUID] = frozenset()


async def past(question: Question) -> Past:
    """Fold, as known then, every kin whose stored standing rests on something recorded later."""
    if not question.of_the_past:
        return Past()
    kins = await changed_since(question)
    drafts = await load_drafts(question.conn, question.organisation, kins=kins)
    stories: list[Story] = []
    for draft in drafts:
        await load_rows(
            question.conn,
            question.organisation,
            draft,
            question.world,
            until_seq=question.judged_to,
            known_at=question.known_at,
        )
        draft.fold_anew(question.world)
        stories += draft.story.stories if draft.story is not None else ()
    stored = await units_of_kins(question.conn, question.organisation, kins)
    return Past(tuple(stories), frozenset(row.unit for row in stored))


async def changed_since(question: Question) -> set[str]:
    """Name the kins that something recorded after `known_at` bears on."""
    conn, organisation, seq = question.conn, question.organisation, question.judged_to
    touched = await kins_touched_after(conn, organisation, seq)
    kins = {kin.kin for kin in touched if kin.voided or kin.earliest <= question.as_at}
    soon = {kin.kin for kin in touched if kin.earliest <= question.as_at + ZONES} - kins
    kins |= soon & set(await kins_depending_on(conn, organisation, [SITELESS])) if soon else set()
    refs = {ref for event in _judged_otherwise(question) for ref in changed(event)}
    kins |= set(await kins_depending_on(conn, organisation, refs)) if refs else set()
    recalls = [event for event in _judged_otherwise(question) if isinstance(event, RecallOpened)]
    kins |= await kins_recalled(conn, organisation, recalls, question.world.rulebook)
    tags = {
        report.tag
        for report in await failure_reports(conn, organisation, known_at=question.position.now)
        if max(report.recorded_at, report.settled_at or report.recorded_at) > question.known_at
    }
    bad = await contradicted_after(conn, organisation, seq)
    tags |= {row.event.asset for row in bad if isinstance(row.event, AssetEvent)}
    return kins | set((await kins_of_tags(conn, organisation, sorted(tags))).values())


def _judged_otherwise(question: Question) -> Iterator[Event]:
    """Give the events of the context recorded later, and those taken back later, that may bear on what was until then.

    What a person learns or loses afterwards, or a recall asks, bears on nothing before it; reference data may, and so
    may a voiding.
    """
    events = {row.event.id: row.event for row in question.known.rows}
    for row in question.known.rows:
        event: Event | None = row.event
        if row.seq <= question.judged_to:
            continue
        begins = min(instant(row.event, None, question.world), row.received_at)
        if row.event.family in {"person", "recall"} and begins > question.as_at:
            continue
        while isinstance(event, Voided):
            event = events.get(event.event)
        if event is not None:
            yield event


class Stretch(msgspec.Struct, frozen=True):
    """One interval of one unit."""

    unit: UUID
    interval: Interval


async def stretches(
    question: Question,
    folded: Past,
    since: datetime,
    until: datetime,
    sites: Iterable[str] | None = None,
    units: Iterable[UUID] | None = None,
) -> Iterator[Stretch]:
    """Give every interval that reaches into [since, until), at these sites, of these units (None: all)."""
    meant = None if units is None else frozenset(units)
    wanted = None if sites is None else frozenset(sites)
    rows = await intervals_between(question.conn, question.organisation, since, until, sites=wanted, units=meant)
    stored = (Stretch(row.unit, interval_of(row)) for row in rows if row.unit not in folded.units)
    again = (one for one in folded_again(folded, since, until, wanted) if meant is None or one.unit in meant)
    return iter([*stored, *again])


def folded_again(
    folded: Past, since: datetime, until: datetime, sites: Collection[str] | None = None
) -> Iterator[Stretch]:
    """Give those that were folded in memory."""
    return (
        Stretch(story.folded.unit.unit, one)
        for story in folded.stories
        for one in story.intervals
        if one.since < until and one.until > since and (sites is None or one.site in sites)
    )


def interval_of(row: UnitInterval) -> Interval:
    """Give a stored interval as it was folded."""
    digits, reasons = unpacked(row.rules)
    return Interval(
        since=row.since,
        until=row.until or FOREVER,
        site=row.site,
        model=row.model,
        phase=row.phase,
        in_scope=row.in_scope,
        standing=row.standing,
        do_not_use=row.do_not_use,
        rules=digits,
        reasons=reasons,
    )


async def uses_going_on(question: Question, folded: Past, until: datetime) -> list[tuple[str, Use]]:
    """Give the uses that count of units folded here, and of others those that time alone made since they were folded.

    Each with the model of its unit by then; those apart that were told as the unit was folded (`uses_to_come`).
    """
    here = [(_model(story, until), use) for story in folded.stories for use in story.uses if use.counted]
    later = await made_by_time(question, folded, until, unsound=False)
    return [*here, *((outlook.folded.unit.model, use) for outlook, use in later)]


def _model(story: Story, until: datetime) -> str:
    """Name the model that a unit is of just before a moment: another may have been registered since."""
    return next((one.model for one in reversed(story.intervals) if one.since < until), story.folded.unit.model)


async def made_by_time(question: Question, folded: Past, until: datetime, *, unsound: bool) -> list[tuple[Seen, Use]]:
    """Give the uses that time alone made since units were last folded, each with the outlook of its unit.

    Units whose uses were told as they were folded are left out, with `unsound` those alone whose uses are all sound.
    Of many units it is found beside the loop, so that whoever else is ready goes on meanwhile.
    """
    rows = await issued_units(question.conn, question.organisation, until, unsound=unsound)
    made = partial(_made_by_time, question, folded, rows, until)
    return await aside(len(rows), made)


def _made_by_time(
    question: Question, folded: Past, rows: Sequence[IssuedUnit], until: datetime
) -> list[tuple[Seen, Use]]:
    outlooks = [Seen(left_of(story.folded), story.intervals) for story in folded.stories]
    outlooks += [SEEN.decode(row.outlook) for row in rows if row.unit not in folded.units]
    return [(outlook, use) for outlook in outlooks for use in time_passed(outlook.folded, until, question)[1]]


def time_passed(left: Left, until: datetime, question: Question) -> tuple[Unit, list[Use]]:
    """Let time pass from where a unit was left: give it as it is then, and the uses that makes."""
    unit, made = left.unit, list[Use]()
    if left.at >= until or unit.where != "issued":
        return unit, made
    cuts = question.world.cuts(unit, left.at, until)
    for start, end in zip((left.at, *cuts), (*cuts, until), strict=True):
        unit, uses = pass_time(unit, Scene(start, end, question.world, unit))
        made += uses
    return unit, made
