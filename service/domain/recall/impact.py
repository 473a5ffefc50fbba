"""Impact: what a recall speaks of in one unit: what sits there, what sat there and when, and in whose hands meanwhile.

A part that was named after it was put in counts as what it turned out to be, from its beginning; before anything was
said of a position, or it was emptied, any item may have sat there that is listed for it (`listing`). What is still
there though no opening reaches it (it was dealt with, or came in after the recall was voided) is `cleared`: hands and
wearings count up to the remedy. What states its day alone meets whatever that day does, for no second; until the day is
over what it would bring under the recall is there from the day's beginning (`ahead.py`), and nothing is known for sure.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import datetime
from typing import Literal
from uuid import UUID

import msgspec
from msgspec.structs import replace

from service.domain.part import Part
from service.domain.recall.ahead import Ahead
from service.domain.recall.asking import Answer, Asking
from service.domain.recall.bearing import Spot, cleared_at, put_in, stands
from service.domain.recall.exposure import Hand, Sure, Wearer, hands, meanwhile, wearers
from service.domain.recall.followed import NONE, Lots, lots_of
from service.domain.recall.listing import Listing
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


class Meant(msgspec.Struct, gc=False, frozen=True):
    """What is spoken of, and by which openings; `day` began the day on which it came in, where that alone was said."""

    sitting: Sitting
    said: Answer
    day: datetime | None = None

    @property
    def earliest(self) -> datetime:
        """Give when it may have begun: of a day alone with that."""
        return self.day or self.sitting.since


class Touched(msgspec.Struct, gc=False, frozen=True):
    """A unit that a recall speaks of, or once spoke of; `endless` where a wearing counts of which no end was said.

    The last `ahead` of what is `meant` are told by days that are not over.
    """

    meant: tuple[Meant, ...]
    hands: tuple[Hand, ...]
    wearers: tuple[Wearer, ...]
    endless: bool
    ahead: int = 0

    @property
    def sittings(self) -> tuple[Sitting, ...]:
        """Give what sits or sat there, those told by days that are not over last."""
        return tuple([one.sitting for one in self.meant])

    @property
    def stated(self) -> tuple[Sitting, ...]:
        """Give the sittings but those told by days that are not over."""
        return self.sittings[: len(self.meant) - self.ahead]

    @property
    def affected(self) -> bool:
        """Say whether anything is under the recall now."""
        return "affected" in [one.sitting.state for one in self.meant]

    @property
    def exposing(self) -> frozenset[str]:
        """Name the sites where somebody had or wore it meanwhile."""
        return frozenset([*[hand.site for hand in self.hands], *[one.site for one in self.wearers]])

    def at(self, sites: frozenset[str]) -> "Touched":
        """Give it with those alone who had or wore it at some sites."""
        hands = tuple(hand for hand in self.hands if hand.site in sites)
        return replace(self, hands=hands, wearers=tuple(one for one in self.wearers if one.site in sites))

    @property
    def certain(self) -> bool:
        """Say whether it is known of anything that is under it now, or of anything that ever was."""
        every = [one.sitting for one in self.meant]
        under = [one for one in every if one.state == "affected"]
        return True in [one.certain for one in under or every]


class Life(msgspec.Struct, gc=False, frozen=True):
    """A unit as it is at a moment, with all its stays and uses that had begun by then, in order.

    `own` are the wearings that its uses come to, where that was found out before: of a unit that is no component the
    uses are left out then. Of these, and of who had it, those may be missing that were over before anything of it is
    spoken of, and what tells who had it may stand behind what tells of parts. `borne` are wearings beside: of the units
    that it was fitted in as a component, and of days that are not over. `lots` are told of parts anywhere; `ahead` is
    what is said of a day alone that is not over.
    """

    unit: Unit
    listing: Listing
    at: datetime
    stays: tuple[Stay, ...]
    uses: tuple[Use, ...]
    own: tuple[Wearing, ...] | None = None
    borne: tuple[Wearing, ...] = ()
    lots: Lots = NONE
    ahead: tuple[Ahead, ...] = ()

    @property
    def worn(self) -> Sequence[Wearing]:
        """Give who wore it, in order."""
        own = tuple(wearings(self.uses, self.stays, self.at)) if self.own is None else self.own
        return sorted([*own, *self.borne], key=lambda one: one.at) if self.borne else own


class _Name(msgspec.Struct, gc=False, frozen=True):
    """A name of a piece that is spoken of: while it was known by that, and whether it is the `last` of its names."""

    stay: Stay
    part: Part
    said: Answer
    last: bool = True


class Held(msgspec.Struct, gc=False, frozen=True):
    """What a unit holds or held that is spoken of, the last `ahead` of it by days that are not over, and when.

    Who had and wore it matters since its spans begin; of whom it is known that they had what is meant says `sure`.
    """

    meant: tuple[Meant, ...]
    ahead: int
    spans: Spans
    sure: Sure


def touched(life: Life, asking: Asking) -> Touched | None:
    """Say what the openings of a recall speak of in a unit; None where that is nothing."""
    found = held(life, asking)
    return None if found is None else touched_by(life, found, life.stays, life.worn)


def held(life: Life, asking: Asking) -> Held | None:
    """Say what a unit holds or held that the openings speak of, whoever had it; None where that is nothing."""
    meant = _spoken(life, asking)
    coming = [*_ahead(life, asking, [one.sitting for one in meant])] if life.ahead else []
    meant += coming
    return Held(tuple(meant), len(coming), _spans(meant, life), _sure(meant, life)) if meant else None


def touched_by(life: Life, found: Held, had: Iterable[Stay], worn: Iterable[Wearing]) -> Touched:
    """Add who had the unit while it held that, and who wore it, of these stays and wearings of it."""
    met = meanwhile(worn, found.spans)
    return Touched(
        found.meant,
        tuple(hands(had, found.spans, found.sure, life.at)),
        tuple(wearers(met, found.spans, found.sure)) if met else (),
        endless=None in [one.until for one, _ in met],
        ahead=found.ahead,
    )


def _sure(meant: Sequence[Meant], life: Life) -> Sure:
    """Give when there was anything that is known to be meant, and did not turn out to be another."""
    known = [one for one in meant if one.sitting.certain and one.sitting.state != "identified"]
    return bool(known) if len(known) in {0, len(meant)} else _spans(known, life)


def _spans(meant: Iterable[Meant], life: Life) -> Spans:
    return Spans([_span(one, life) for one in meant], life.at)


def _span(meant: Meant, life: Life) -> Span:
    """Give how long it counts that it was there: no longer than until the last remedy, where it was dealt with.

    Of what came in on a day that is not over no second counts yet.
    """
    sitting, until = meant.sitting, meant.sitting.until
    if sitting.state == "cleared":
        ends = [cleared_at(life.unit, sitting.position, opening) for opening in meant.said.by]
        known = [end for end in ends if end is not None]
        until = max(known) if len(known) == len(ends) else None
    return Span(life.at if meant.day == sitting.since else sitting.since, until, meant.day)


def _spoken(life: Life, asking: Asking) -> list[Meant]:
    """Give what the openings speak of."""
    of_it = _itself(life.unit, asking.about(life.unit)) if asking.of_units else ()
    if not asking.of_parts:
        return [*of_it]
    within = asking.within(life.unit.models)
    return [*of_it, *_parts(life, within.parts), *_unstated(life, within.unstated(life.listing))]


def _itself(unit: Unit, said: Answer) -> Iterator[Meant]:
    """Tell of a unit itself."""
    if said.by:
        yield Meant(Sitting(None, unit.beginning, None, said.match is True, _there(unit, None, said)), said)


def _there(unit: Unit, spot: Spot, said: Answer) -> State:
    """Say whether what is still there is under the recall."""
    for opening in said.by:
        if stands(unit, spot, opening):
            return "affected"
    return "cleared"


def _parts(life: Life, answers: Mapping[Part, Answer]) -> list[Meant]:
    """Tell of each piece under the last of its names that is spoken of."""
    return [_part(life, answers, name) for name in _pieces(life, answers)]


def _part(life: Life, answers: Mapping[Part, Answer], name: _Name) -> Meant:
    unit, stay, part, said = life.unit, name.stay, name.part, name.said
    known = _followed(life, answers, part) if said.match is None else None
    until = None if stay.until > life.at else stay.until
    state: State = "identified" if not name.last else "removed" if until else _there(unit, stay.position, said)
    certain, shown = said.match is True or known is not None, known or part
    begun, named = _begun(stay, unit), (shown.item, shown.lot, shown.serial, shown.expires)
    return Meant(Sitting(stay.position, begun, until, certain, state, *named), said, stay.day)


def _ahead(life: Life, asking: Asking, known: Iterable[Sitting]) -> Iterator[Meant]:
    """Tell of what comes under the recall by days alone that are not over, each piece once.

    Of what is under it already nothing more is told.
    """
    told = {_piece(life.unit, one.position) for one in known if one.state == "affected"}
    for ahead in life.ahead:
        for spot, part, said in _said_of(ahead, asking):
            piece = _piece(ahead.unit, spot)
            if piece not in told and _there(ahead.unit, spot, said) == "affected":
                told.add(piece)
                yield _coming(ahead, spot, part, said, life.at)


def _piece(unit: Unit, spot: Spot) -> tuple[Spot, UUID | None]:
    """Name what is meant by what put it in, if anything did."""
    return spot, None if spot is None or put_in(unit, spot) is None else unit.parts[spot].event


def _coming(ahead: Ahead, spot: Spot, part: Part | None, said: Answer, at: datetime) -> Meant:
    """Tell of a part, or of a unit, from the day's beginning if it came in on that, else from its own."""
    begun = put_in(ahead.unit, spot) or ahead.unit.beginning
    day = ahead.unit.parts[spot].day if spot in ahead.unit.parts else None
    if begun > at:
        begun, day = ahead.day, ahead.day
    sitting = Sitting(spot, begun, None, certain=False, state="affected")
    if part is not None:
        sitting = replace(sitting, item=part.item, lot=part.lot, serial=part.serial, expires=part.expires)
    return Meant(sitting, said, day)


def _said_of(ahead: Ahead, asking: Asking) -> Iterator[tuple[Spot, Part | None, Answer]]:
    """Give a unit itself, the parts that were stated of it, and the positions that were not, each with what is said."""
    unit, within = ahead.unit, asking.within(ahead.unit.models)
    yield None, None, asking.about(unit)
    for position, fitted in unit.parts.items():
        if fitted.part is not None:
            yield position, fitted.part, within.parts[fitted.part]
    for position, said in within.unstated(ahead.listing).items():
        if position not in unit.parts:
            yield position, None, said


def _followed(life: Life, answers: Mapping[Part, Answer], part: Part) -> Part | None:
    """Give a part with a lot that was told of it elsewhere, if it is known to be meant by that."""
    told = (replace(part, lot=lot) for lot in lots_of(part, life.lots))
    return next((one for one in told if answers[one].match is True), None)


def _unstated(life: Life, answers: Mapping[str, Answer]) -> list[Meant]:
    """Tell of the time before anything was said of a position."""
    unit, beginning, found = life.unit, life.unit.beginning, list[Meant]()
    for position, said in answers.items():
        until: datetime | None = None
        for stay in life.stays:
            if stay.position == position:
                begun = beginning if stay.was_there else stay.began
                until = begun if until is None or begun < until else until
        if until is None or until > beginning:
            state: State = _there(unit, position, said) if until is None else "removed"
            found.append(Meant(Sitting(position, beginning, until, certain=False, state=state), said))
    return found


def _begun(stay: Stay, unit: Unit) -> datetime:
    return unit.beginning if stay.was_there else stay.began


def _pieces(life: Life, answers: Mapping[Part, Answer]) -> list[_Name]:
    """Give each piece that sat somewhere by then and is spoken of, in order, by the last of its names that is.

    What came in and went on one day is told by one name each: a piece of its own.
    """
    found: dict[tuple[datetime, str], _Name] = {}
    for stay in life.stays:
        if stay.part is None:
            continue
        said = answers[stay.part]
        if said.by:
            found[_came_in(stay)] = _Name(stay, stay.part, said)
        elif found and (piece := _came_in(stay)) in found:
            found[piece] = replace(found[piece], last=False)
    return [found[piece] for piece in sorted(found)] if len(found) > 1 else [*found.values()]


def _came_in(stay: Stay) -> tuple[datetime, str]:
    """Say when and where a piece came in."""
    return stay.began if stay.began < stay.until else stay.since, stay.position or ""
