"""Recalls: when each was opened and voided, and whether it bears on a unit."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime
from typing import TYPE_CHECKING, Any

from tests.oracle import clock
from tests.oracle.fact import Fact, echo, fact
from tests.oracle.labels import compare
from tests.oracle.parts import changes, fitted
from tests.oracle.record import Message, Record

if TYPE_CHECKING:
    from tests.oracle.trouble import Trouble
    from tests.oracle.world import World

SAID = frozenset({"part-identified", "registered"})
OF_PARTS = ("item", "lot", "lots", "lot_from", "lot_to", "expires_from", "expires_to")


@dataclass(frozen=True)
class Opening:
    """One opening of a recall, or its echo, with the voidings that count."""

    fact: Fact
    voidings: tuple[Record, ...]
    ends: datetime | None

    @property
    def record(self) -> Record:
        """Give what opened it."""
        return self.fact.record

    @property
    def at(self) -> datetime:
        """Give the instant from which it holds."""
        return self.fact.at

    @property
    def key(self) -> tuple[Any, ...]:
        """Give its place in the order of truth."""
        return self.fact.key

    @property
    def recall(self) -> str:
        """Name the recall."""
        return str(self.fact.get("recall"))


def openings(world: World, *, rehearsals: bool = False) -> list[Opening]:
    """List the openings of all recalls that are no rehearsals, or those that are, echoes included."""
    found = []
    for record in world.known:
        if record.kind != "recall-opened" or bool(record.message.get("rehearsal")) != rehearsals:
            continue
        one = fact(record, world.book)
        same_key = [by for by in world.voidings.get(record.id, ()) if by.key == record.key]
        own = {by.id for by in same_key if not by.imported and not record.imported}
        counting = tuple(by for by in world.voidings.get(record.id, ()) if by.id not in own and by.by != record.by)
        ends = min((world.posted_at(voiding) for voiding in counting), default=None)
        found.append(Opening(one, counting, ends))
        if one.at != record.received_at and world.suspect(one, [], None):
            found.append(Opening(echo(one), counting, ends))
    return sorted(found, key=lambda opening: opening.at)


def bears(story: Trouble, n: int, at: datetime, opening: Opening) -> bool:
    """Say whether an opening, whenever it was, bears on a unit after `n` facts, by what may sit in it at an instant."""
    if any(story.effective_release(i) and forgave(story, i, opening) for i in story.back(n)):
        return False
    if opening.ends is not None and story.examined_after(max(opening.ends, opening.at), n):
        return False
    return any(True for _ in spots(story, n, at, opening))


def forgave(story: Trouble, index: int, opening: Opening) -> bool:
    """Say whether a release that counted rested on the voiding of an opening that bore on the unit."""
    mine = [one for one in story.rests_on(index) if one.record is opening.record]
    when = story.facts[index].at
    return any(one.at < when and bears(story, index, when, one) for one in mine)


def spots(story: Trouble, n: int, at: datetime, opening: Opening) -> Iterator[str]:
    """Walk the positions of a unit, and "" for itself, that an opening reaches and nothing has cleared."""
    for position, there, named in meant(story, n, at, opening):
        if not cleared(story, n, opening, there, named):
            yield position


def meant(
    story: Trouble, n: int, at: datetime, opening: Opening
) -> Iterator[tuple[str, datetime | None, datetime | None]]:
    """Walk the positions of a unit, and "" for itself, that an opening speaks of, with their `history`."""
    refs = story.models(n)
    parts = fitted(story, n)
    criteria = opening.fact.get("criteria")
    of_parts = [one for one in criteria if any(one.get(name) for name in OF_PARTS)]
    for position, found in parts.items():
        if found.part is None or not any(may_be(one, refs, found.part) for one in of_parts):
            continue
        there, named = history(story, n, position)
        if in_time(story.registered_at() if there is None else there, opening):
            yield position, there, named
    if not in_time(story.registered_at(), opening):
        return
    for position, items in listed(story, n, at).items():
        wanted = [one for one in of_parts if one.get("item") is None or one["item"] in items]
        if position not in parts and any(one.get("model") in {None, *refs} for one in wanted):
            yield position, None, None
    if any(of_unit(one, story, n) for one in criteria if one not in of_parts):
        yield "", None, None


def listed(story: Trouble, n: int, at: datetime) -> dict[str, set[str]]:
    """Give by position what the versions list that tell what may sit in a unit, of every model it may be."""
    found: dict[str, set[str]] = {}
    start = story.registered_at()
    for model in story.models(n):
        for version in story.world.book.listings(model, start, max(at, start)):
            for position in version.get("positions") or []:
                found.setdefault(position["position"], set()).update(position["items"])
    if n <= story.registrations[0]:
        for position in changes(story, story.registrations[0]):
            found.pop(position, None)
    return found


def in_time(came: datetime, opening: Opening) -> bool:
    """Say whether what came into a unit at a moment did so before an opening was voided, if it was."""
    return opening.ends is None or came <= opening.ends


def cleared(story: Trouble, n: int, opening: Opening, there: datetime | None, named: datetime | None) -> bool:
    """Say whether an act on the recall, later than its opening, cleared what has been there and named so since."""
    return any(True for _ in clearing(story, n, opening, there, named))


def clearing(
    story: Trouble, n: int, opening: Opening, there: datetime | None, named: datetime | None
) -> Iterator[datetime]:
    """Walk when acts on the recall, later than its opening, cleared what has been there and named so since."""
    for index in story.back(n):
        act = story.facts[index]
        if act.kind != "recall-actioned" or act.get("recall") != opening.recall or act.at <= opening.at:
            continue
        since = {"fixed": there, "not-affected": named}.get(
            act.get("result"), datetime.max.replace(tzinfo=act.at.tzinfo)
        )
        if since is None or since <= act.versions_at:
            yield act.at


def history(story: Trouble, n: int, position: str) -> tuple[datetime | None, datetime | None]:
    """Say since when a part sits in a position (None: always did), and since when it is said to be what it is."""
    there: datetime | None = None
    named: datetime | None = None
    before: Message | None = None
    spoken = False
    for index in sorted(story.back(n)):
        for name, part in changes(story, index).items():
            if name != position:
                continue
            act = story.facts[index]
            if act.kind not in SAID or before is None:
                there = None if act.kind in SAID and not spoken else act.at
                named = act.at
            elif names(before) != names(part or {}):
                named = act.at
            spoken, before = True, part
    return there, named


def names(part: Message) -> tuple[Any, ...]:
    """Give what tells one part from another."""
    return tuple(part.get(name) for name in ("item", "lot", "serial", "expires"))


def may_be(criterion: Message, models: set[str], part: Message) -> bool:
    """Say whether a criterion may speak of a part: a value that is not on record counts as matching."""
    if criterion.get("model") not in {None, *models} or criterion.get("item") not in {None, part["item"]}:
        return False
    return (
        labelled(criterion, "lot", part.get("lot"))
        and labelled(criterion, "serial", part.get("serial"))
        and expiring(criterion, part.get("expires"))
    )


def expiring(criterion: Message, expires: str | None) -> bool:
    """Say whether any day that an expiry may be is within what a criterion gives for it."""
    first, last = criterion.get("expires_from"), criterion.get("expires_to")
    if expires is None:
        return True
    early = first is not None and clock.expiry_day(expires) < clock.expiry_first(first)
    return not early and (last is None or clock.expiry_first(expires) <= clock.expiry_day(last))


def of_unit(criterion: Message, story: Trouble, n: int) -> bool:
    """Say whether a criterion may speak of a unit itself."""
    return (
        criterion.get("model") in {None, *story.models(n)}
        and labelled(criterion, "serial", story.registration(n).get("serial"))
        and any(dated(criterion, "made", day) for day in days_stated(story, n, "made_on"))
        and any(dated(criterion, "received", day) for day in days_stated(story, n, "acquired_on"))
    )


def days_stated(story: Trouble, n: int, name: str) -> list[date | None]:
    """Give the days that any registration gave of a sort, the last one first; None alone where none gave any."""
    told = [story.facts[index].get(name) for index in story.registered_before(n)]
    return [date.fromisoformat(day) for day in told if day is not None] or [None]


def labelled(criterion: Message, name: str, label: str | None) -> bool:
    """Say whether a lot or a serial is within all that a criterion gives for it."""
    if label is None:
        return True
    one, many = criterion.get(name), criterion.get(f"{name}s")
    low, high = criterion.get(f"{name}_from"), criterion.get(f"{name}_to")
    if low is not None and high is not None and compare(low, high) > 0:
        low, high = high, low
    return (
        (one is None or compare(label, one) == 0)
        and (not many or any(compare(label, other) == 0 for other in many))
        and (low is None or compare(low, label) <= 0)
        and (high is None or compare(label, high) <= 0)
    )


def dated(criterion: Message, name: str, day: date | None) -> bool:
    """Say whether a day is within all that a criterion gives for it."""
    first, last = criterion.get(f"{name}_from"), criterion.get(f"{name}_to")
    if day is None:
        return True
    return (first is None or day >= date.fromisoformat(first)) and (last is None or day <= date.fromisoformat(last))
