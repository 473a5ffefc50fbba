"""Impact: what a recall speaks of in one unit: what sits there, what sat there and when, and in whose hands meanwhile.

A part that was named after it was put in counts as what it turned out to be, from its beginning; before anything was
said of a position, or it was emptied, any item may have sat there that is listed for it (`listing`). What is still
there though no opening reaches it (it was dealt with, or came in after the recall was voided) is `cleared`: hands and
wearings count up to the remedy. What states its day alone meets whatever that day does, for no second; until the day is
over what it would bring under the recall is there from the day's beginning (`ahead.py`), and nothing is known for sure.
"""

from collections.abc import Iterable, Iterator, Mapping
from datetime import datetime
from typing import Literal, NamedTuple
from uuid import UUID

import msgspec
from msgspec.structs import replace

from service.domain.part import Part
from service.domain.recall.ahead import Ahead
from service.domain.recall.asking import Answer, Asking
from service.domain.recall.bearing import Spot, cleared_at, put_in, stands, unstated
from service.domain.recall.exposure import Hand, Wearer, hands, wearers
from service.domain.recall.followed import NONE, Lots, lots_of
from service.domain.recall.listing import Listing
from service.domain.recall.opening import Opening
from service.domain.recall.spans import Span, Spans
from service.domain.recall.wearings import Wearing, wearings
from service.domain.stays import Stay
from service.domain.unit import Unit
from service.domain.wearing import Use

State = Literal["affected", "cleared", "removed", "identified"]
"""Whether it is under the recall now, is there but was dealt with, is there no more, or turned out to be another."""


class Sitting(msgspec.Struct, gc=False, frozen=True):
    """What a recall speaks of: a part in a position, or the unit itself (None), from when to when (None: it goes on).

    `certain` is false where something that decides is not on record. Of what nothing was said `item` is None.
    """

    position: Spot
    since: datetime
    until: datetime | None
    certain: bool
    state: State
    item: str | None = None
    lot: str | None = None
    serial: str | None = None
    expires: str | None = None


class Touched(msgspec.Struct, gc=False, frozen=True):
    """A unit that a recall speaks of, or once spoke of; `endless` where a wearing counts of which no end was said.

    `opened` tells of each sitting when the first opening was that speaks of it, `renewed` when the last was, `earliest`
    when it may have begun: of a day alone with that. The last `ahead` sittings are told by days that are not over.
    """

    sittings: tuple[Sitting, ...]
    hands: tuple[Hand, ...]
    wearers: tuple[Wearer, ...]
    endless: bool
    opened: tuple[datetime, ...]
    renewed: tuple[datetime, ...]
    earliest: tuple[datetime, ...]
    ahead: int = 0

    @property
    def stated(self) -> tuple[Sitting, ...]:
        """Give the sittings but those told by days that are not over."""
        return self.sittings[: len(self.sittings) - self.ahead]

    @property
    def affected(self) -> bool:
        """Say whether anything is under the recall now."""
        return any(sitting.state == "affected" for sitting in self.sittings)

    @property
    def people(self) -> frozenset[str]:
        """Name the persons who had or wore it meanwhile."""
        held = (hand.holder.person for hand in self.hands if hand.holder.person is not None)
        return frozenset((*held, *(one.person for one in self.wearers)))

    @property
    def exposing(self) -> frozenset[str]:
        """Name the sites where somebody had or wore it meanwhile."""
        return frozenset((*(hand.site for hand in self.hands), *(one.site for one in self.wearers)))

    def at(self, sites: frozenset[str]) -> "Touched":
        """Give it with those alone who had or wore it at some sites."""
        hands = tuple(hand for hand in self.hands if hand.site in sites)
        return replace(self, hands=hands, wearers=tuple(one for one in self.wearers if one.site in sites))

    @property
    def certain(self) -> bool:
        """Say whether it is known of anything that is under it now, or of anything that ever was."""
        state = "affected" if self.affected else None
        return any(sitting.certain for sitting in self.sittings if state in {None, sitting.state})


class Life(msgspec.Struct, gc=False, frozen=True):
    """A unit as it is at a moment, with all its stays and uses that had begun by then, in order.

    `borne` are wearings beside its uses: of the units that it was fitted in as a component, and of days that are not
    over. `lots` are told of parts anywhere; `ahead` is what is said of a day alone that is not over.
    """

    unit: Unit
    listing: Listing
    at: datetime
    stays: tuple[Stay, ...]
    uses: tuple[Use, ...]
    borne: tuple[Wearing, ...] = ()
    lots: Lots = NONE
    ahead: tuple[Ahead, ...] = ()

    @property
    def worn(self) -> list[Wearing]:
        """Give who wore it, in order."""
        own = list(wearings(self.uses, self.stays, self.at))
        return sorted([*own, *self.borne], key=lambda one: one.at) if self.borne else own


class _Meant(NamedTuple):
    """What is spoken of, and by which openings; `day` began the day on which it came in, where that alone was said."""

    sitting: Sitting
    openings: tuple[Opening, ...]
    day: datetime | None = None


def touched(life: Life, asking: Asking) -> Touched | None:
    """Say what the openings of a recall speak of in a unit; None where that is nothing."""
    known = [_as_it_is(one, life.unit) for one in _spoken(life, asking)]
    coming = [*_ahead(life, asking, (one.sitting for one in known))] if life.ahead else []
    meant = [*known, *coming]
    if not meant:
        return None
    spans = Spans((_span(one, life) for one in meant), life.at)
    worn = [one for one in life.worn if spans.meet(one.since, one.ends)]
    return Touched(
        tuple(one.sitting for one in meant),
        tuple(hands(life.stays, spans, life.at)),
        tuple(wearers(worn, spans)),
        endless=any(one.until is None for one in worn),
        opened=tuple(min(opening.at for opening in one.openings) for one in meant),
        renewed=tuple(max(opening.at for opening in one.openings) for one in meant),
        earliest=tuple(one.day or one.sitting.since for one in meant),
        ahead=len(coming),
    )


def _as_it_is(meant: _Meant, unit: Unit) -> _Meant:
    """Tell whether what is still there is under the recall."""
    sitting = meant.sitting
    if sitting.state != "cleared" or not any(stands(unit, sitting.position, one) for one in meant.openings):
        return meant
    return meant._replace(sitting=replace(sitting, state="affected"))


def _span(meant: _Meant, life: Life) -> Span:
    """Give how long it counts that it was there: no longer than until the last remedy, where it was dealt with.

    Of what came in on a day that is not over no second counts yet.
    """
    sitting, until = meant.sitting, meant.sitting.until
    if sitting.state == "cleared":
        ends = [cleared_at(life.unit, sitting.position, opening) for opening in meant.openings]
        known = [end for end in ends if end is not None]
        until = max(known) if len(known) == len(ends) else None
    return Span(life.at if meant.day == sitting.since else sitting.since, until, meant.day)


def _spoken(life: Life, asking: Asking) -> Iterator[_Meant]:
    """Give what the openings speak of; what is still there as if it was dealt with."""
    unit = life.unit
    if asking.of_units:
        whole, by = asking.about(unit)
        if by:
            yield _Meant(Sitting(None, unit.beginning, None, whole is True, "cleared"), by)
    if asking.of_parts:
        yield from _parts(life, asking)
        yield from _unstated(life, asking)


def _parts(life: Life, asking: Asking) -> Iterator[_Meant]:
    """Tell of each piece under the last of its names that is spoken of."""
    answers = asking.parts_in(life.unit.models)
    for names in _pieces(life):
        matches = [answers[part] for _, part in names]
        meant = max((nth for nth, (_, by) in enumerate(matches) if by), default=None)
        if meant is None:
            continue
        (stay, part), (match, by) = names[meant], matches[meant]
        known = _followed(life, answers, part) if match is None else None
        part, match = (part, match) if known is None else (known, True)
        until = None if stay.until > life.at else stay.until
        state: State = "identified" if meant < len(names) - 1 else "cleared" if until is None else "removed"
        sitting = Sitting(stay.position, _begun(stay, life.unit), until, match is True, state)
        yield _Meant(_naming(sitting, part), by, stay.day)


def _ahead(life: Life, asking: Asking, known: Iterable[Sitting]) -> Iterator[_Meant]:
    """Tell of what comes under the recall by days alone that are not over, each piece once.

    Of what is under it already nothing more is told.
    """
    told = {_piece(life.unit, one.position) for one in known if one.state == "affected"}
    for ahead in life.ahead:
        for spot, part, by in _said_of(ahead, asking):
            piece = _piece(ahead.unit, spot)
            if piece not in told and any(stands(ahead.unit, spot, opening) for opening in by):
                told.add(piece)
                yield _coming(ahead, spot, part, by, life.at)


def _piece(unit: Unit, spot: Spot) -> tuple[Spot, UUID | None]:
    """Name what is meant by what put it in, if anything did."""
    return spot, None if spot is None or put_in(unit, spot) is None else unit.parts[spot].event


def _coming(ahead: Ahead, spot: Spot, part: Part | None, by: tuple[Opening, ...], at: datetime) -> _Meant:
    """Tell of a part, or of a unit, from the day's beginning if it came in on that, else from its own."""
    begun = put_in(ahead.unit, spot) or ahead.unit.beginning
    day = ahead.unit.parts[spot].day if spot in ahead.unit.parts else None
    if begun > at:
        begun, day = ahead.day, ahead.day
    sitting = Sitting(spot, begun, None, certain=False, state="affected")
    return _Meant(sitting if part is None else _naming(sitting, part), by, day)


def _naming(sitting: Sitting, part: Part) -> Sitting:
    return replace(sitting, item=part.item, lot=part.lot, serial=part.serial, expires=part.expires)


def _said_of(ahead: Ahead, asking: Asking) -> Iterator[tuple[Spot, Part | None, tuple[Opening, ...]]]:
    """Give a unit itself, the parts that were stated of it, and the positions that were not, each with its openings."""
    unit = ahead.unit
    yield None, None, asking.about(unit).by
    stated, other = asking.parts_in(unit.models), asking.unstated_in(unit.models)
    for position, fitted in unit.parts.items():
        if fitted.part is not None:
            yield position, fitted.part, stated[fitted.part].by
    for position, items in unstated(unit, ahead.listing).items():
        yield position, None, other[items].by


def _followed(life: Life, answers: Mapping[Part, Answer], part: Part) -> Part | None:
    """Give a part with a lot that was told of it elsewhere, if it is known to be meant by that."""
    told = (replace(part, lot=lot) for lot in lots_of(part, life.lots))
    return next((one for one in told if answers[one].match is True), None)


def _unstated(life: Life, asking: Asking) -> Iterator[_Meant]:
    """Tell of the time before anything was said of a position."""
    unit = life.unit
    answers = asking.unstated_in(unit.models)
    for position, items in life.listing.items():
        by = answers[items].by
        if not by:
            continue
        until = min((_begun(stay, unit) for stay in life.stays if stay.position == position), default=None)
        if until is None or until > unit.beginning:
            state: State = "cleared" if until is None else "removed"
            yield _Meant(Sitting(position, unit.beginning, until, certain=False, state=state), by)


def _begun(stay: Stay, unit: Unit) -> datetime:
    return unit.beginning if stay.was_there else stay.began


def _pieces(life: Life) -> list[list[tuple[Stay, Part]]]:
    """Give each piece that sat somewhere by then, under every name it had, in order.

    What came in and went on one day is told by one name each: a piece of its own.
    """
    found: dict[tuple[datetime, str], list[tuple[Stay, Part]]] = {}
    for stay in life.stays:
        if stay.part is not None:
            began = stay.began if stay.began < stay.until else stay.since
            found.setdefault((began, stay.position or ""), []).append((stay, stay.part))
    return [found[key] for key in sorted(found)]
