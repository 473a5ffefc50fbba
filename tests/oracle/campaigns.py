"""Campaigns: what opened a recall as of a moment, what closed it, and for which units reasons are given.

Reading 51 of the oracle holds.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from datetime import datetime

from tests.oracle.recalls import Opening, openings
from tests.oracle.record import Record
from tests.oracle.world import World

Codes = Mapping[str, Mapping[str, Collection[str]]]
"""What closings were told as they were recorded: by the id of the closing codes, each with the units it names."""


def opened(world: World, recall: str, at: datetime, codes: Codes) -> list[Opening]:
    """List what opened a recall by a moment: in earnest if ever it was, else the drill that was opened last."""
    by_then = [one for one in openings(world) if one.recall == recall and one.at <= at]
    if by_then:
        return by_then
    drills = [one for one in openings(world, rehearsals=True) if one.recall == recall and one.at <= at]
    for begin in reversed(closings(world, recall, at)):
        if drills and world.posted_at(begin) <= drills[-1].at and complete(begin, codes):
            return [one for one in drills if one.at >= world.posted_at(begin)]
    return drills


def left_out(records: list[Record]) -> set[str]:
    """Name the rehearsals that are told that their recall was opened in earnest before they were recorded."""
    told: set[str] = set()
    earnest: set[str] = set()
    for record in sorted(records, key=lambda one: one.seq):
        if record.kind == "recall-opened" and not record.message.get("rehearsal"):
            earnest.add(record.message["recall"])
        elif record.kind == "recall-opened" and record.message["recall"] in earnest:
            told.add(record.id)
    return told


def closed_at(world: World, recall: str, at: datetime, codes: Codes) -> datetime | None:
    """Say when a recall was closed last, and a drill first, as of a moment; None while it goes on."""
    every = opened(world, recall, at, codes)
    ending = [one for one in closings(world, recall, at) if all(ends(world, one, each, codes) for each in every)]
    drill = all(one.record.message.get("rehearsal") for one in every)
    return world.posted_at(ending[0 if drill else -1]) if every and ending else None


def reasons(world: World, recall: str, at: datetime, codes: Codes) -> list[tuple[datetime, str]]:
    """List the units that reasons given by a moment are of, each with when they were said: none that is asked anew."""
    every = opened(world, recall, at, codes)
    since = max((one.at for one in every if asks(one)), default=min((one.at for one in every), default=at))
    later = [one for one in closings(world, recall, at) if said(world, one) > since]
    idle = {one.id: codes.get(one.id, {}).get("reason-without-unit", ()) for one in later}
    named = [(one, given["asset"]) for one in later for given in one.message.get("outstanding") or []]
    return [(said(world, one), tag) for one, tag in named if tag not in idle[one.id]]


def said(world: World, closing: Record) -> datetime:
    """Say when the reasons of a closing were said: nobody knows before the end of a day what comes by then."""
    return min(world.posted_at(closing), closing.received_at)


def asks(opening: Opening) -> bool:
    """Say whether an opening asks something of units: it is in earnest, and for more than information."""
    message = opening.record.message
    return not message.get("rehearsal") and message["action"] != "information"


def closings(world: World, recall: str, at: datetime) -> list[Record]:
    """List the closings of a recall by a moment that nobody took back, in order."""
    mine = [one for one in world.known if one.kind == "recall-closed" and one.message["recall"] == recall]
    standing = [one for one in mine if not world.voided(one) and world.posted_at(one) <= at]
    return sorted(standing, key=world.posted_at)


def ends(world: World, closing: Record, opening: Opening, codes: Codes) -> bool:
    """Say whether a closing ends what an opening began."""
    if world.posted_at(closing) <= opening.at or not complete(closing, codes):
        return False
    if not asks(opening):
        return True
    return opening.record.seq < closing.seq and "unknown-recall" not in codes.get(closing.id, {})


def complete(closing: Record, codes: Codes) -> bool:
    """Say whether a closing left no unit without a reason, as it was told."""
    return "units-outstanding" not in codes.get(closing.id, {})
