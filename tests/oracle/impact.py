"""The impact of a recall, by definition: what sat in every unit from when to when, who had it and wore it.

Readings 42 to 48 of the oracle hold. A part counts under the last of its names that is meant, from its beginning.
Before a position was stated or emptied, any item may have sat there that any version of its model listed since it was
registered. Stock is told by `stock.py`.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from itertools import pairwise
from typing import Any, NamedTuple

from tests.oracle import clock
from tests.oracle.parts import changes
from tests.oracle.recalls import OF_PARTS, SAID, Opening, compare, forgave, listed, names, spots
from tests.oracle.record import Message
from tests.oracle.story import Story
from tests.oracle.told import SWAPS
from tests.oracle.withdrawal_rule import host
from tests.oracle.world import World

NO, MAYBE, YES = 0, 1, 2
Sitting = tuple[str, datetime, datetime | None, bool, str, str | None, str | None]
"""Position ("" for the unit), since, until, whether certain, state, item, lot."""
WORN = frozenset({"worn", "checked", "failed-check", "failed-in-use"})
"""What tells who had the unit on."""


class Wearing(NamedTuple):
    """Who had the unit on from when on, until when if that was said, and the kind of what tells it."""

    who: str
    since: datetime
    until: datetime | None
    kind: str


@dataclass
class Piece:
    """A part in a position from when on; its names with when each began, and when it was taken out.

    `last` is that too where it was named only then: in its last moment, beside the name before.
    """

    position: str
    began: datetime
    names: list[tuple[datetime, Message]]
    ended: datetime | None = None
    ends: list[datetime | None] = field(default_factory=list)
    last: datetime | None = None


@dataclass(frozen=True)
class Seen:
    """What is true of a unit at a moment, whatever may be asked of it."""

    story: Story
    n: int
    tag: str
    pieces: list[Piece]
    stated: dict[str, datetime]
    hands: list[tuple[Message, datetime, datetime | None]]
    worn: list[Wearing]


def seen(world: World, at: datetime) -> list[Seen]:
    """Look at every unit that there was at a moment."""
    found = []
    for unit, story in world.stories.items():
        tag = world.identity.tag(unit, at)
        if tag is not None:
            n = story.upto(at)
            pieces, stated = fitted(story, n)
            had, wore = hands(story, n), list(wearings(story, n))
            for bearer, since, until in lodgings(story, at):
                n_then = bearer.upto(at)
                had += [cut for one in hands(bearer, n_then) for cut in clipped(one, since, until, goes_on=True)]
                for worn in wearings(bearer, n_then):
                    cuts = clipped((worn.who, worn.since, worn.until), since, until, goes_on=False)
                    wore += [Wearing(*cut, worn.kind) for cut in cuts]
            found.append(Seen(story, n, tag, pieces, stated, had, sorted(wore, key=lambda one: one.since)))
    return found


def lodgings(story: Story, at: datetime) -> list[tuple[Story, datetime, datetime | None]]:
    """Say in which unit a component sat, asked at each moment when that may have changed."""
    swaps = {one.facts[index].at for one in story.world.stories.values() for index in one.swaps}
    named = {story.facts[index].at for index in story.registrations}
    moments = sorted(one for one in swaps | named if one <= at)
    found: list[tuple[Story, datetime, datetime | None]] = []
    for nth, since in enumerate(moments):
        until = moments[nth + 1] if nth + 1 < len(moments) else None
        bearer = host(story, since)
        if bearer is None or bearer is story:
            continue
        if found and found[-1][0] is bearer and found[-1][2] == since:
            found[-1] = (bearer, found[-1][1], until)
        else:
            found.append((bearer, since, until))
    return found


def clipped(
    one: tuple[Any, datetime, datetime | None], since: datetime, until: datetime | None, *, goes_on: bool
) -> Iterator[tuple[Any, datetime, datetime | None]]:
    """Cut a span to another; one without an end goes on, or else is its beginning alone."""
    who, begins, ends = one
    if until is not None and begins >= until:
        return
    if begins < since and (ends <= since if ends is not None else not goes_on):
        return
    last = min((end for end in (ends, until) if end is not None), default=None)
    yield who, max(begins, since), last if goes_on or ends is not None else None


def fitted(story: Story, n: int) -> tuple[list[Piece], dict[str, datetime]]:
    """Follow every position: its pieces, and when it was first stated or emptied."""
    born = story.registrations[0]
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
            was = came_out(story, act, was, Piece(position, story.registered_at(), []), known=position in there)
            note(was, told, stated)
            if was is not None:
                was.ended = act.at
                if index <= born:
                    told.remove(was)
            along = act.kind in SAID and position not in there
            began = story.registered_at() if along else act.at
            stated.setdefault(position, began)
            piece = None if part is None else Piece(position, began, [(act.at, part)])
            there[position] = piece
            if piece is not None:
                told.append(piece)
    return [one for one in map(without_moments, told) if one.names], stated


def taken_out(story: Story, act: Any, was: Piece | None, *, known: bool) -> Message | None:
    """Say what sat there until a swap, if that was said and there was time for it to sit there."""
    out = act.get("out") if act.kind in SWAPS else None
    before = {} if was is None else was.names[-1][1]
    item = (out or {}).get("item") or before.get("item")
    since = story.registered_at() if was is None else was.names[-1][0]
    if out is None or item is None or (known and was is None) or since >= act.at - timedelta(microseconds=1):
        return None
    said = {"item": item, "lot": out.get("lot"), "serial": out.get("serial")}
    differs = any(value and before.get(name) and value != before.get(name) for name, value in said.items())
    return said if differs else {**before, **{name: value for name, value in said.items() if value}}


def note(piece: Piece | None, told: list[Piece], stated: dict[str, datetime]) -> None:
    """Tell of a piece that was named as it was taken out, if nothing was told of it before."""
    if piece is not None and piece.last is not None:
        told[:] = [*(one for one in told if one is not piece), piece]
        stated.setdefault(piece.position, piece.began)


def came_out(story: Story, act: Any, was: Piece | None, unknown: Piece, *, known: bool) -> Piece | None:
    """Name a piece as it was taken out, in the last moment before; `unknown` is it where nothing was said of it."""
    before = taken_out(story, act, was, known=known)
    if before is None or (was is not None and names(was.names[-1][1]) == names(before)):
        return was
    piece = was or unknown
    piece.names.append((act.at - timedelta(microseconds=1), before))
    piece.last = act.at
    return piece


def without_moments(piece: Piece) -> Piece:
    """Leave out the names that lasted for no time at all."""
    ends = [since for since, _ in piece.names[1:]] + [piece.ended]
    if piece.last is not None:
        ends[-2:] = [piece.ended] * len(ends[-2:])
    lasting = [(name, end) for name, end in zip(piece.names, ends, strict=True) if end is None or end > name[0]]
    return Piece(piece.position, piece.began, [name for name, _ in lasting], piece.ended, [end for _, end in lasting])


def hands(story: Story, n: int) -> list[tuple[Message, datetime, datetime | None]]:
    """List who had the unit from when to when, from its registration on."""
    found: list[tuple[Message, datetime, datetime | None]] = []
    holder: Message | None = None
    since = story.registered_at()
    for index in range(story.registrations[0], n):
        now, at = story.placed(index + 1).holder, max(story.facts[index].at, story.registered_at())
        if now != holder:
            if holder is not None and since < at:
                found.append((holder, since, at))
            holder, since = now, at
    return [*found, *([(holder, since, None)] if holder is not None else [])]


def wearings(story: Story, n: int) -> Iterator[Wearing]:
    """Walk who wore the unit, from when, and until when if that was said."""
    for index in range(story.registrations[0], n):
        act = story.facts[index]
        if act.kind not in WORN or act.echo or act.get("wearer") is None:
            continue
        if act.kind == "worn" and story.component(index + 1):
            continue
        until = None if act.get("until") is None else clock.instant(act.get("until"))
        yield Wearing(act.get("wearer"), act.at, until, act.kind)


def sittings(unit: Seen, criteria: list[Message], openings: list[Opening], at: datetime) -> list[Sitting]:
    """Say what the criteria mean in a unit; what is still there is affected if an opening reaches it, else cleared."""
    story, n = unit.story, unit.n
    now = {spot for opening in openings for spot in reached(story, n, at, opening)}
    of_parts = [one for one in criteria if any(one.get(name) for name in OF_PARTS)]
    of_units = [one for one in criteria if one not in of_parts]
    model, found = story.model_ref(n), list[Sitting]()
    whole = max((of_unit(one, story, n) for one in of_units), default=NO)
    if whole:
        state = "affected" if "" in now else "cleared"
        found.append(("", story.registered_at(), None, whole == YES, state, None, None))
    for piece in unit.pieces:
        says = [max((of_part(one, model, part) for one in of_parts), default=NO) for _, part in piece.names]
        meant = max((nth for nth, one in enumerate(says) if one), default=None)
        if meant is not None:
            last, until = meant == len(says) - 1, piece.ends[meant]
            there = "affected" if piece.position in now else "cleared"
            state = "identified" if not last else there if until is None else "removed"
            part = piece.names[meant][1]
            known = says[meant] == YES
            found.append((piece.position, piece.began, until, known, state, part["item"], part.get("lot")))
    for position, items in listed(story, n, at).items():
        until = unit.stated.get(position)
        meant_here = any(one.get("item") in {None, *items} and of_model(one, model) for one in of_parts)
        if meant_here and (until is None or until > story.registered_at()):
            there = "affected" if position in now else "cleared"
            state = there if until is None else "removed"
            found.append((position, story.registered_at(), until, False, state, None, None))
    return found


def reached(story: Story, n: int, at: datetime, opening: Opening) -> Iterator[str]:
    """Walk what an opening reaches, unless the unit was let go by an examination or a release after its voiding."""
    if any(story.effective_release(index) and forgave(story, index, opening) for index in story.back(n)):
        return
    if opening.ends is not None and story.examined_after(max(opening.ends, opening.at), n):
        return
    yield from spots(story, n, at, opening)


def held(unit: Seen, found: list[Sitting], at: datetime) -> list[tuple[str, datetime, datetime | None, int]]:
    """List who had it while anything meant was there, and for how many seconds."""
    told = []
    for holder, since, until in unit.hands:
        seconds = overlap(since, until or at, found, at)
        if seconds or (until is None and any(one[2] is None for one in found)):
            told.append((str(sorted(holder.items())), since, until, int(seconds)))
    return sorted(told, key=str)


def worn(unit: Seen, found: list[Sitting], at: datetime) -> dict[str, tuple[int, datetime, datetime, int, set[str]]]:
    """Count who wore it while anything meant was there: how often, first, last, how many seconds, by which kinds."""
    told: dict[str, tuple[int, datetime, datetime, int, set[str]]] = {}
    for person, since, until, kind in unit.worn:
        seconds = 0.0 if until is None else overlap(since, min(until, at), found, at)
        if seconds or any(one[1] <= since and (one[2] is None or since < one[2]) for one in found):
            times, first, _, before, kinds = told.get(person, (0, since, since, 0, set()))
            told[person] = (times + 1, first, since, before + int(seconds), kinds | {kind})
    return told


def overlap(since: datetime, until: datetime, found: list[Sitting], at: datetime) -> float:
    """Measure how much of a time lies in any sitting: cut at every edge, and add up the pieces that do."""
    edges = {since, until, *(one[1] for one in found), *(one[2] or at for one in found)}
    cuts = sorted(edge for edge in edges if since <= edge <= until)
    pieces = pairwise(cuts)
    return sum((e - b).total_seconds() for b, e in pieces if any(one[1] <= b and e <= (one[2] or at) for one in found))


def of_part(criterion: Message, model: str, part: Message) -> int:
    """Say whether a criterion means a part in a unit of a model."""
    expires = part.get("expires")
    return min(
        YES if of_model(criterion, model) and criterion.get("item") in {None, part["item"]} else NO,
        label(criterion, "lot", part.get("lot")),
        label(criterion, "serial", part.get("serial")),
        day(criterion, "expires", None if expires is None else clock.expiry_day(expires)),
        day(criterion, "made", None),
        day(criterion, "received", None),
    )


def of_unit(criterion: Message, story: Story, n: int) -> int:
    """Say whether a criterion means the unit itself."""
    stated: dict[str, Any] = {}
    for index in reversed(story.registered_before(n)):
        told = story.facts[index]
        stated |= {name: told.get(name) for name in ("made_on", "acquired_on") if told.get(name) is not None}
    days = {name: date.fromisoformat(value) for name, value in stated.items()}
    return min(
        YES if of_model(criterion, story.model_ref(n)) else NO,
        label(criterion, "serial", story.registration(n).get("serial")),
        day(criterion, "made", days.get("made_on")),
        day(criterion, "received", days.get("acquired_on")),
    )


def of_model(criterion: Message, model: str) -> bool:
    """Say whether a criterion leaves the model open or names this one."""
    return criterion.get("model") in {None, model}


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
