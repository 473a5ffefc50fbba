"""The impact of a recall, by definition: what sat in every unit from when to when, who had it and wore it.

Readings 42 to 48 of the oracle hold. A part counts under the last of its names that is meant, from its beginning.
Before a position was stated or emptied, any item may have sat there that is listed for it by reading 44. Stock is told
by `stock.py`.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from datetime import date, datetime, timedelta
from functools import cmp_to_key
from itertools import pairwise
from typing import Any, NamedTuple

from tests.oracle import clock
from tests.oracle.fact import Fact
from tests.oracle.labels import compare
from tests.oracle.lodging import Lodging, sooner, widest, within
from tests.oracle.parts import changes
from tests.oracle.recalls import OF_PARTS, SAID, Opening, clearing, days_stated, forgave, history, listed, names, spots
from tests.oracle.record import Message
from tests.oracle.story import Story
from tests.oracle.told import SWAPS
from tests.oracle.world import World

NO, MAYBE, YES = 0, 1, 2
MOMENT = timedelta(microseconds=1)
Sitting = tuple[str, datetime, datetime | None, bool, str, str | None, str | None]
"""Position ("" for the unit), since, until, whether certain, state, item, lot."""
Worn = tuple[str, str]
"""Who wore a unit, and at which site."""
WORN = frozenset({"worn", "checked", "failed-check", "failed-in-use"})
"""What tells who had the unit on."""


MOMENTS = frozenset({"failed-check", "failed-in-use"})
"""What shows that for a moment alone."""


class Wearing(NamedTuple):
    """Who had the unit on, when, until when if that was said, within what time (None: up to now), by which kind."""

    who: str
    at: datetime
    said: datetime | None
    first: datetime
    last: datetime | None
    kind: str
    site: str


class Hand(NamedTuple):
    """Who had the unit from when until when (None: still), and when the day began that it states alone.

    Its seconds count from `counts` on, where that is later.
    """

    who: Message
    since: datetime
    until: datetime | None
    day: datetime | None
    site: str
    counts: datetime | None = None


@dataclass
class Piece:
    """A part in a position from when on; its names with when each began, and when it was taken out.

    `last` is that too where it was named only then: in its last moment, beside the name before. `day` began the day on
    which it was put in, where that alone is known, and `gone` that on which it was taken out.
    """

    position: str
    began: datetime
    names: list[tuple[datetime, Message]]
    ended: datetime | None = None
    ends: list[datetime | None] = field(default_factory=list)
    last: datetime | None = None
    day: datetime | None = None
    gone: datetime | None = None

    @property
    def short(self) -> bool:
        """Say whether it was there for no time, as far as that is known."""
        return self.ended is not None and self.began >= self.ended - MOMENT


@dataclass(frozen=True)
class Sat:
    """A sitting, and within what time it counts that it was there: from its day, and up to what dealt with it.

    `counts` is from when on its seconds do, where that is not from its beginning.
    """

    shown: Sitting
    first: datetime
    until: datetime | None
    counts: datetime | None = None

    @property
    def since(self) -> datetime:
        """Give when it began, as far as seconds count."""
        return self.counts or self.shown[1]


@dataclass(frozen=True)
class Seen:
    """What is true of a unit at a moment, whatever may be asked of it."""

    story: Story
    n: int
    tag: str
    pieces: list[Piece]
    stated: dict[str, datetime]
    hands: list[Hand]
    worn: list[Wearing]
    told: list[Message]


def seen(world: World, at: datetime) -> list[Seen]:
    """Look at every unit that there was at a moment."""
    found: list[Seen] = []
    told: list[Message] = []
    for unit, story in world.stories.items():
        tag = world.identity.tag(unit, at)
        if tag is not None:
            n = story.upto(at)
            pieces, stated = fitted(story, n)
            had, wore = [*hands(story, n), *hands_today(story, n, at)], [*worn_today(story, n, at)]
            for lodging in widest(within(story, at)):
                bore = lodging.bearer
                m = bore.upto(at)
                theirs = [*hands(bore, m), *hands_today(bore, m, at)]
                had += [cut for one in theirs for cut in held_there(one, lodging)]
                worn = [*wearings(bore, theirs, at), *worn_today(bore, m, at)]
                wore += [cut for one in worn for cut in worn_there(one, lodging, at)]
            wore += wearings(story, had, at)
            found.append(Seen(story, n, tag, pieces, stated, had, sorted(wore, key=lambda one: one.at), told))
            told += [part for piece in pieces for _, part in piece.names]
    return found


def beginning(story: Story) -> datetime:
    """Say when a unit is first told of: its registration, or what is dated before."""
    return min(story.registered_at(), story.facts[0].at)


def held_there(one: Hand, lodging: Lodging) -> Iterator[Hand]:
    """Cut a hand to the time that a component sat in the unit, or may have."""
    since, until, day = lodging.since, lodging.until, lodging.day
    begins, ends = max(one.since, day), sooner(one.until, until)
    if ends is None or max(one.day or one.since, day) < ends:
        counts = max(one.counts or one.since, since)
        ends = None if ends is None else max(begins, ends)
        yield Hand(one.who, begins, ends, None if one.day is None else max(one.day, day), one.site, counts)


def worn_there(one: Wearing, lodging: Lodging, at: datetime) -> Iterator[Wearing]:
    """Cut a wearing to the time that a component sat in the unit, or may have: then for no second."""
    since, until, day = lodging.since, lodging.until, lodging.day
    last = sooner(one.last, until)
    if (until is None or one.first < until) and (one.first >= day or last is None or last > day):
        surely = since <= at and (last is None or last > since)
        begins = max(one.at, since if surely else day)
        said = None if one.said is None else sooner(one.said, until) if surely else begins
        yield Wearing(one.who, begins, said, max(one.first, day), last, one.kind, one.site)


def fitted(story: Story, n: int) -> tuple[list[Piece], dict[str, datetime]]:
    """Follow every position: its pieces, and when it was first stated or emptied."""
    there: dict[str, Piece | None] = {}
    told: list[Piece] = []
    stated: dict[str, datetime] = {}
    for index in sorted(story.back(n)):
        act = story.facts[index]
        for position, part in changes(story, index).items():
            was = there.get(position)
            if was is not None and act.kind in SAID and part is not None:
                if names(was.names[-1][1]) != names(part):
                    was.names.append((act.at, part))
                    was.ends.append(None)
                was.names[-1] = (was.names[-1][0], part)
                continue
            went = None if act.day is None else act.versions_at
            piece = was or Piece(position, beginning(story), [])
            piece.ended, piece.gone = act.at, went
            was = came_out(act, was, piece, known=position in there)
            note(was, told, stated)
            along = act.kind in SAID and position not in there
            began = beginning(story) if along else act.at
            stated.setdefault(position, began)
            new = None if part is None else Piece(position, began, [(act.at, part)], day=None if along else went)
            there[position] = new
            if new is not None:
                told.append(new)
    return list(lasting(told, stated)), stated


def lasting(told: list[Piece], stated: dict[str, datetime]) -> Iterator[Piece]:
    """Leave out the names that lasted for no time at all; a piece that had no other was not stated before its end."""
    for one in told:
        left = without_moments(one)
        if left.names and left.short:
            yield from (replace(left, names=[name], ends=[left.ended], day=one.day or one.gone) for name in left.names)
        elif left.names:
            yield left
        elif one.ended is not None and stated[one.position] == one.began:
            stated[one.position] = one.ended


def taken_out(act: Any, was: Piece | None, piece: Piece, *, known: bool) -> Message | None:
    """Say what sat there until a swap, if that was said and it may have sat there for a while."""
    out = act.get("out") if act.kind in SWAPS else None
    before = {} if was is None else was.names[-1][1]
    item = (out or {}).get("item") or before.get("item")
    if out is None or item is None or (known and was is None) or passing(piece):
        return None
    said = {"item": item, "lot": out.get("lot"), "serial": out.get("serial")}
    both = [(name, value, before[name]) for name, value in said.items() if value and before.get(name)]
    differs = any(value != known if name == "item" else compare(value, known) for name, value, known in both)
    new = {name: value for name, value in said.items() if value and not before.get(name)}
    return said if differs else {**before, **new}


def passing(piece: Piece) -> bool:
    """Say whether a piece was there for no time, and no day on which it may have been was said of it."""
    return piece.short and piece.day is None and piece.gone is None


def note(piece: Piece | None, told: list[Piece], stated: dict[str, datetime]) -> None:
    """Tell of a piece that was named as it was taken out, if nothing was told of it before."""
    if piece is not None and piece.last is not None:
        told[:] = [*(one for one in told if one is not piece), piece]
        stated.setdefault(piece.position, piece.began)


def came_out(act: Any, was: Piece | None, piece: Piece, *, known: bool) -> Piece | None:
    """Name a piece as it was taken out, in the last moment before; without `was` nothing was said of it until then."""
    before = taken_out(act, was, piece, known=known)
    if before is None or (was is not None and names(was.names[-1][1]) == names(before)):
        return was
    piece.names.append((act.at - MOMENT, before))
    piece.last = act.at
    return piece


def without_moments(piece: Piece) -> Piece:
    """Leave out the names that lasted for no time at all, but the last that was said before the piece was taken out."""
    ends = [since for since, _ in piece.names[1:]] + [piece.ended]
    said = len(ends) - 1
    if piece.last is not None:
        ends[-2:] = [piece.ended] * len(ends[-2:])
        said -= 1
    named = None if piece.ended is None or passing(piece) else said
    lasting = [
        (name, end)
        for nth, (name, end) in enumerate(zip(piece.names, ends, strict=True))
        if end is None or end > name[0] or nth == named
    ]
    return replace(piece, names=[name for name, _ in lasting], ends=[end for _, end in lasting])


def hands(story: Story, n: int) -> list[Hand]:
    """List who had the unit from when to when."""
    found: list[Hand] = []
    holder: Message | None = None
    since, day, site = beginning(story), None, story.site(0)
    for index in range(n):
        act = story.facts[index]
        now, at = story.placed(index + 1).holder, max(act.at, beginning(story))
        where = story.site(index + 1)
        if (now, where) != (holder, site):
            begins = None if act.day is None or act.adverse else act.versions_at
            if holder is not None and since < at:
                found.append(Hand(holder, since, at, day, site))
            elif holder is not None and (day or begins) is not None:
                before = sum(one.until == at and one.counts == at for one in found)
                moment = at - timedelta(microseconds=before + 1)
                found.append(Hand(holder, moment, at, day or begins, site, at))
            holder, since, day, site = now, at, begins, where
    return [*found, *([Hand(holder, since, None, day, site)] if holder is not None else [])]


def today(story: Story, n: int, at: datetime) -> Story:
    """Tell a unit's story with what is said of days alone that have begun and are not over."""
    later = [one for one in story.facts[n:] if one.day is not None and not one.adverse and one.versions_at <= at]
    return Story(story.world, story.unit, [*story.facts[:n], *later])


def hands_today(story: Story, n: int, at: datetime) -> Iterator[Hand]:
    """Walk who has the unit by a day that is not over: since that began, and for no second."""
    later = today(story, n, at)
    for one in hands(later, len(later.facts)):
        if one.day is not None and one.day <= at < one.since:
            yield Hand(one.who, one.day, None, one.day, one.site, one.counts or one.since)


def worn_today(story: Story, n: int, at: datetime) -> Iterator[Wearing]:
    """Walk who wears the unit by a day that is not over."""
    later = today(story, n, at)
    for index in range(n, len(later.facts)):
        act = later.facts[index]
        if act.kind in WORN and act.get("wearer") is not None:
            day = act.versions_at
            yield Wearing(act.get("wearer"), day, None, day, None, act.kind, later.site(index + 1))


def wearings(story: Story, had: list[Hand], at: datetime) -> Iterator[Wearing]:
    """Walk who had the unit on: until it left the hand at most, and without an end until it was put on next."""
    n = story.upto(at)
    kept = [(hand.since, hand.who) for hand in had]
    left = [hand.until for hand in had if hand.until is not None and (hand.until, hand.who) not in kept]
    acts = [(index, act) for index, act in enumerate(story.facts[:n]) if act.kind in WORN and not act.echo]
    worn = [(index, act) for index, act in acts if act.get("wearer") is not None]
    for index, act in worn:
        site = story.site(index + 1)
        gone = min((end for end in left if end > act.at), default=None)
        if act.get("until") is not None:
            said = min(end for end in (clock.instant(act.get("until")), gone, at) if end is not None)
            yield Wearing(act.get("wearer"), act.at, said, act.at, said, act.kind, site)
            continue
        later = [one for _, one in worn if one.at > act.at]
        put_on = [shown(one) for one in later if one.kind not in MOMENTS or one.get("wearer") != act.get("wearer")]
        last = act.at if act.kind in MOMENTS else sooner(gone, min(put_on, default=None))
        first = act.at
        if act.day is not None:
            first, ends = clock.day_start(act.day, act.zone), clock.day_end(act.day, act.zone)
            last = None if last is None else max(last, ends)
        yield Wearing(act.get("wearer"), act.at, None, first, last, act.kind, site)


def shown(act: Fact) -> datetime:
    """Say when somebody is known to have had it on by an act: of a day alone at its end at the latest."""
    return act.at if act.day is None else clock.day_end(act.day, act.zone)


def sittings(unit: Seen, openings: list[Opening], at: datetime) -> list[Sat]:
    """Say what openings mean in a unit; what is still there is affected if one reaches it, else cleared."""
    story, n = unit.story, unit.n
    now = {spot for opening in openings for spot in reached(story, n, at, opening)}
    model, once, found = story.model_ref(n), story.models(n), list[Sat]()
    whole = [(max((of_unit(one, story, n) for one in units(opening)), default=NO), opening) for opening in openings]
    if any(says for says, _ in whole):
        state = "affected" if "" in now else "cleared"
        sat: Sitting = ("", beginning(story), None, any(says == YES for says, _ in whole), state, None, None)
        found.append(Sat(sat, sat[1], dealt_with(unit, sat, [one for says, one in whole if says])))
    for piece in unit.pieces:
        says = [[(max((of_part(one, model, part, once) for one in parts(opening)), default=NO), opening)
                 for opening in openings] for _, part in piece.names]  # fmt: skip
        meant = max((nth for nth, one in enumerate(says) if any(match for match, _ in one)), default=None)
        if meant is not None:
            last, until = meant == len(says) - 1, piece.ends[meant]
            there = "affected" if piece.position in now else "cleared"
            state = "identified" if not last else there if until is None else "removed"
            part = piece.names[meant][1]
            known = any(match == YES for match, _ in says[meant])
            for lot in [] if known or part.get("lot") else elsewhere(unit, part):
                told = part | {"lot": lot}
                if any(of_part(one, model, told, once) == YES for opening in openings for one in parts(opening)):
                    known, part = True, told
                    break
            sat = (piece.position, piece.began, until, known, state, part["item"], part.get("lot"))
            mine = [one for match, one in says[meant] if match]
            found.append(Sat(sat, piece.day or piece.began, dealt_with(unit, sat, mine)))
    for position, items in listed(story, n, at).items():
        until = unit.stated.get(position)
        mine = [opening for opening in openings for one in parts(opening)
                if one.get("item") in {None, *items} and of_model(one, model, once)]  # fmt: skip
        if mine and (until is None or until > beginning(story)):
            there = "affected" if position in now else "cleared"
            state = there if until is None else "removed"
            sat = (position, beginning(story), until, False, state, None, None)
            found.append(Sat(sat, sat[1], dealt_with(unit, sat, mine)))
    return found


def elsewhere(unit: Seen, part: Message) -> list[str]:
    """List the lots that were told of a part, known by its item and serial number, in whatever unit."""
    if part.get("serial") is None:
        return []
    mine = [other for other in unit.told if other["item"] == part["item"] and other.get("serial") is not None]
    lots = {other["lot"] for other in mine if other.get("lot") and compare(other["serial"], part["serial"]) == 0}
    return sorted(sorted(lots), key=cmp_to_key(compare))


def parts(opening: Opening) -> list[Message]:
    """Give the criteria of an opening that speak of parts."""
    return [one for one in opening.fact.get("criteria") if any(one.get(name) for name in OF_PARTS)]


def units(opening: Opening) -> list[Message]:
    """Give the criteria of an opening that speak of units."""
    return [one for one in opening.fact.get("criteria") if not any(one.get(name) for name in OF_PARTS)]


def dealt_with(unit: Seen, sat: Sitting, openings: list[Opening]) -> datetime | None:
    """Say until when it counts that something was there: what was cleared counts up to the last act that did so."""
    position, until, state = sat[0], sat[2], sat[4]
    if state != "cleared":
        return until
    known = position in unit.stated and position != ""
    there, named = history(unit.story, unit.n, position) if known else (None, None)
    acts = [list(clearing(unit.story, unit.n, opening, there, named)) for opening in openings]
    return max(at for one in acts for at in one) if all(acts) else None


def reached(story: Story, n: int, at: datetime, opening: Opening) -> Iterator[str]:
    """Walk what an opening reaches, unless the unit was let go by an examination or a release after its voiding."""
    if any(story.effective_release(index) and forgave(story, index, opening) for index in story.back(n)):
        return
    if opening.ends is not None and story.examined_after(max(opening.ends, opening.at), n):
        return
    yield from spots(story, n, at, opening)


Held = tuple[str, str, datetime, datetime | None, int, bool]
"""Who had a unit, where, from when to when, for how many seconds, and whether anything was certainly meant then."""


def held(unit: Seen, found: list[Sat], at: datetime) -> list[Held]:
    """List who had it while anything meant was there, and for how many seconds."""
    told = []
    for holder, since, until, day, site, counts in unit.hands:
        if meets(day or since, until, found, at):
            seconds = int(overlap(counts or since, until or at, found, at))
            sure = meets(day or since, until, surely(found), at)
            told.append((str(sorted(holder.items())), site, since, until, seconds, sure))
    return sorted(told, key=str)


def surely(found: list[Sat]) -> list[Sat]:
    """Choose what is certainly meant, and did not turn out to be another."""
    return [one for one in found if one.shown[3] and one.shown[4] != "identified"]


def worn(unit: Seen, found: list[Sat], at: datetime) -> dict[Worn, tuple[int, datetime, datetime, int, set[str], bool]]:
    """Count who wore it where while it had anything meant: how often, first, last, how many seconds, by which kinds.

    And say whether anything was certainly meant at any of those times.
    """
    told: dict[Worn, tuple[int, datetime, datetime, int, set[str], bool]] = {}
    for who in {(one.who, one.site) for one in unit.worn}:
        mine = [one for one in unit.worn if (one.who, one.site) == who and meets(one.first, one.last, found, at)]
        if mine:
            moments = [max(one.at, together(one, found, at)) for one in mine]
            seconds = sum(int(overlap(one.at, one.said, found, at)) for one in mine if one.said is not None)
            sure = any(meets(one.first, one.last, surely(found), at) for one in mine)
            told[who] = (len(mine), min(moments), max(moments), seconds, {one.kind for one in mine}, sure)
    return told


def together(one: Wearing, found: list[Sat], at: datetime) -> datetime:
    """Say at which moment a wearing and anything meant are first there at once: as the later of the two begins."""
    return min(max(one.first, sat.first) for sat in found if meets(one.first, one.last, [sat], at))


def meets(since: datetime, until: datetime | None, found: list[Sat], at: datetime) -> bool:
    """Say whether a time has a moment in common with any sitting, be it its first; what both go on does now."""
    if any(one.until is None for one in found) and (until is None or since == at):
        return True
    times = [(one.first, one.until or at) for one in found]
    return any(begins <= since < ends or (begins < (until or at) and since < ends) for begins, ends in times)


def overlap(since: datetime, until: datetime, found: list[Sat], at: datetime) -> float:
    """Measure how much of a time lies in any sitting: cut at every edge, and add up the pieces that do."""
    edges = {since, until, *(one.since for one in found), *(one.until or at for one in found)}
    cuts = sorted(edge for edge in edges if since <= edge <= until)
    pieces = pairwise(cuts)
    return sum(
        (e - b).total_seconds() for b, e in pieces if any(one.since <= b and e <= (one.until or at) for one in found)
    )


def of_part(criterion: Message, model: str, part: Message, once: set[str] | None = None) -> int:
    """Say whether a criterion means a part in a unit of a model."""
    return min(
        of_model(criterion, model, once or set()),
        YES if criterion.get("item") in {None, part["item"]} else NO,
        label(criterion, "lot", part.get("lot")),
        label(criterion, "serial", part.get("serial")),
        expiry(criterion, part.get("expires")),
        day(criterion, "made", None),
        day(criterion, "received", None),
    )


def expiry(criterion: Message, said: str | None) -> int:
    """Say whether an expiry is within what a criterion gives: every day that it may be, some, or none."""
    low, high = criterion.get("expires_from"), criterion.get("expires_to")
    if low is None and high is None:
        return YES
    if said is None:
        return MAYBE
    begin = date.min if low is None else clock.expiry_first(low)
    end = date.max if high is None else clock.expiry_day(high)
    days = (clock.expiry_first(said), clock.expiry_day(said))
    inside = [begin <= one <= end for one in days]
    return YES if all(inside) else MAYBE if any(inside) or days[0] < begin <= end < days[1] else NO


def of_unit(criterion: Message, story: Story, n: int) -> int:
    """Say whether a criterion means the unit itself."""
    return min(
        of_model(criterion, story.model_ref(n), story.models(n)),
        label(criterion, "serial", story.registration(n).get("serial")),
        told_once(criterion, "made", days_stated(story, n, "made_on")),
        told_once(criterion, "received", days_stated(story, n, "acquired_on")),
    )


def told_once(criterion: Message, name: str, days: list[date | None]) -> int:
    """Say whether the day that was stated last is within a criterion; one stated before may be the right one."""
    now, *before = [day(criterion, name, one) for one in days]
    return now if now != NO else min(MAYBE, max(before, default=NO))


def of_model(criterion: Message, model: str, once: set[str]) -> int:
    """Say whether a criterion leaves the model open or names this one; whether it is one it was once is not known."""
    wanted = criterion.get("model")
    return YES if wanted in {None, model} else MAYBE if wanted in once else NO


def label(criterion: Message, name: str, said: str | None) -> int:
    """Say whether a lot or a serial is within all that a criterion gives for it."""
    one, many = criterion.get(name), criterion.get(f"{name}s") or []
    low, high = criterion.get(f"{name}_from"), criterion.get(f"{name}_to")
    if one is None and not many and low is None and high is None:
        return YES
    if said is None:
        return MAYBE
    if low is not None and high is not None and compare(low, high) > 0:
        low, high = high, low
    within = (low is None or compare(low, said) <= 0) and (high is None or compare(said, high) <= 0)
    named = (one is None or compare(one, said) == 0) and (not many or any(compare(other, said) == 0 for other in many))
    return YES if within and named else NO


def day(criterion: Message, name: str, said: date | None) -> int:
    """Say whether a day is within what a criterion gives for it."""
    first, last = criterion.get(f"{name}_from"), criterion.get(f"{name}_to")
    if first is None and last is None:
        return YES
    if said is None:
        return MAYBE
    late = first is None or said >= date.fromisoformat(first)
    return YES if late and (last is None or said <= date.fromisoformat(last)) else NO
