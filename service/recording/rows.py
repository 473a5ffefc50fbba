"""Rows: a unit's story as the database keeps it."""

from datetime import datetime

import msgspec
from msgspec.structs import replace

from service.domain.coming import Coming
from service.domain.finding import Finding
from service.domain.fold import Folded, Story
from service.domain.intervals import Interval
from service.domain.label import sorting
from service.domain.standing import BEGINNING, FOREVER
from service.domain.stays import Stay
from service.domain.unit import Unit, phase
from service.domain.wearing import Use
from service.store.kin_write import FindingRow, IntervalRow, StayRow, UnitRow, UseRow

ENCODER = msgspec.msgpack.Encoder()
CARD = ("tag", "model", "serial", "size", "site", "use", "place", "holder")


class Outlook(msgspec.Struct, gc=False, frozen=True, array_like=True):
    """A unit as its fold left it, and how it will stand and be used if nothing more happens."""

    folded: Folded
    intervals: tuple[Interval, ...]
    coming: Coming


class Left(msgspec.Struct, gc=False, frozen=True, array_like=True):
    """A unit as its fold left it, when, and when it was last spoken of: the first fields of `Folded`.

    The rest of what is stored is not read.
    """

    unit: Unit
    at: datetime
    spoken: datetime


def left_of(folded: Folded) -> Left:
    """Give of a unit what questions take."""
    return Left(folded.unit, folded.at, folded.spoken)


class Seen(msgspec.Struct, gc=False, frozen=True, array_like=True):
    """What questions take from a unit's outlook: its first fields, so that no more is made of it than they need."""

    folded: Left
    intervals: tuple[Interval, ...]

    def at(self, moment: datetime) -> Interval | None:
        """Give how the unit stands at a moment not before the fold's end."""
        for one in self.intervals:
            if one.since <= moment < one.until:
                return one
        return None


SEEN = msgspec.msgpack.Decoder(Seen)
OUTLOOK = msgspec.msgpack.Decoder(Outlook)


def state_bytes(state: msgspec.Struct) -> bytes:
    """Write what is kept to go on from; equal states give equal bytes."""
    return ENCODER.encode(state)


class Moments(msgspec.Struct, gc=False, frozen=True):
    """A moment for each sort of rows."""

    intervals: datetime
    uses: datetime
    findings: datetime
    stays: datetime


NEVER = Moments(FOREVER, FOREVER, FOREVER, FOREVER)


class Kept(msgspec.Struct, gc=False, frozen=True):
    """What is stored of a unit already and holds: what begins before some moments, and what does from later ones on.

    `before.findings` FOREVER keeps all there are, and adds those told; so does `before.stays`, but those that go on end
    as they are told.
    """

    before: Moments
    again: Moments = NEVER


ANEW = Kept(Moments(BEGINNING, BEGINNING, BEGINNING, BEGINNING))


def unit_row(told: Story, kept: Kept | None) -> UnitRow:
    """Give the row of a unit with the intervals and uses that are to be written; None keeps nothing."""
    unit, at = told.folded.unit, told.folded.at
    before, again = (kept or ANEW).before, (kept or ANEW).again
    now = next(one for one in told.intervals if one.since <= at < one.until)
    return UnitRow(
        unit=unit.unit,
        tag=unit.tag,
        site=now.site,
        model=now.model,
        phase=phase(unit),
        standing=now.standing,
        in_scope=now.in_scope,
        do_not_use=now.do_not_use,
        card=card_of(unit),
        outlook=ENCODER.encode(
            Outlook(replace(told.folded, asked=()), tuple(one for one in told.intervals if one.until > at), told.coming)
        ),
        next_uses=told.coming.uses,
        next_covered=told.coming.covered,
        next_sound=told.coming.sound,
        next_until=_end(told.coming.until),
        rewrite_from=None if kept is None else before.intervals,
        uses_from=None if kept is None else before.uses,
        findings_from=None if kept is None else before.findings,
        rewrite_until=_end(again.intervals),
        uses_until=_end(again.uses),
        findings_until=_end(again.findings),
        intervals=tuple(
            _interval_row(one) for one in told.intervals if before.intervals <= one.since < again.intervals
        ),
        uses=tuple(_use_row(use) for use in told.uses if before.uses <= use.at < again.uses),
        findings=tuple(
            _finding_row(one)
            for one in told.findings
            if before.findings == FOREVER or before.findings <= one.at < again.findings
        ),
        stays_from=None if kept is None else before.stays,
        stays_until=_end(again.stays),
        stays=(
            *[_stay_row(replace(stay, until=stay.since)) for stay in told.gone],
            *[_stay_row(stay) for stay in told.stays if stay.until <= again.stays],
        ),
    )


def _end(moment: datetime) -> datetime | None:
    return None if moment == FOREVER else moment


def card_of(unit: Unit) -> bytes:
    """Write what lists show of a unit beside its standing."""
    return msgspec.json.encode({name: getattr(unit, name) for name in CARD})


def _interval_row(one: Interval) -> IntervalRow:
    return IntervalRow(
        since=one.since,
        until=_end(one.until),
        site=one.site,
        model=one.model,
        phase=one.phase,
        in_scope=one.in_scope,
        standing=one.standing,
        do_not_use=one.do_not_use,
        rules=packed(one),
    )


def _use_row(use: Use) -> UseRow:
    return UseRow(
        at=use.at,
        site=use.site,
        lapse=use.lapse,
        ref=use.ref,
        person=use.person,
        worn=use.worn,
        counted=use.counted,
        forbidden=",".join(use.forbidden) or None,
        ends=use.until,
        known_by=use.known_by if use.worn else None,
        day=use.day,
    )


def _finding_row(one: Finding) -> FindingRow:
    return FindingRow(
        at=one.at,
        report=one.report,
        event=one.event,
        site=one.site,
        person=one.person,
        reasons=",".join(one.reasons),
    )


def _stay_row(stay: Stay) -> StayRow:
    return StayRow(
        position=stay.position or "",
        since=stay.since,
        until=_end(stay.until),
        item=None if stay.part is None else stay.part.item,
        lot=None if stay.part is None or stay.part.lot is None else sorting(stay.part.lot),
        told=ENCODER.encode(replace(stay, until=FOREVER)),
    )


def packed(one: Interval) -> bytes:
    """Pack what every rule says: a digit each, and the reasons."""
    return f"{one.rules}|{','.join(one.reasons)}".encode()


def unpacked(rules: bytes) -> tuple[str, tuple[str, ...]]:
    """Give the digits and the reasons of a packed interval."""
    digits, _, reasons = rules.decode().partition("|")
    return digits, tuple(reasons.split(",")) if reasons else ()
