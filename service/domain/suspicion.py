"""Suspicion: whether the moment of bad news can be believed. Where it cannot, the news counts at its receipt, too.

Suspect is what a wrong clock sent, what contradicts its device's counter, what lies before the unit's registration, and
what came over an hour late without stating a clock, overtaken by good news of the same unit. Impossible is what lies
ahead of its receipt: nobody is told of what is still to come. A clock may be some minutes fast, and a day alone may
turn out to have begun later, where the unit was: until then the unit would be in use.
"""

from collections.abc import Iterable, Iterator, Sequence
from datetime import datetime, timedelta
from typing import Final

from service.domain.facts import Fact, echo
from service.domain.recorded import Recorded
from service.domain.world import World

HOUR = timedelta(hours=1)
DOUBTS: Final = ("clock", "counter", "before-registration", "late", "ahead")
"""What may speak against a moment; new ones are added at the end."""


def with_echoes(facts: Sequence[Fact], registered_at: datetime, world: World) -> list[Fact]:
    """Add to a unit's facts the echoes of bad news whose clock is suspect, and put all in order."""
    return sorted([*facts, *echoes(facts, registered_at, world)], key=lambda known: known.key)


def echoes(facts: Sequence[Fact], registered_at: datetime, world: World) -> list[Fact]:
    """Give the echoes of a unit's bad news; one received at its very instant needs none."""
    bad = [known for known in facts if known.event.adverse()]
    if not bad:
        return []
    good = good_moments(facts)
    return [
        echo(known)
        for known in bad
        if known.at != known.recorded.received_at and any(doubts(known, good, registered_at, world))
    ]


def good_moments(facts: Iterable[Fact]) -> list[datetime]:
    """List the moments of a unit's good news."""
    return [known.at for known in facts if not known.event.adverse()]


def doubts(known: Fact, good: Sequence[datetime], registered_at: datetime, world: World) -> Iterator[str]:
    """Say what speaks against the moment of a unit's event (R8); of good news that came late nothing does by that."""
    row = known.recorded
    yield from clock_doubts(row, world)
    if lies_before(known, registered_at):
        yield "before-registration"
    overtaken = known.event.adverse() and _late_without_clock(known)
    if overtaken and any(known.at < moment <= row.received_at for moment in good):
        yield "late"
    if known.event.occurred_at is None and known.event.adverse() and known.at > row.received_at:
        yield "ahead"


def counts_at_receipt(row: Recorded, at: datetime, world: World) -> bool:
    """Say whether bad news that is of no unit counts at its receipt, too; `at` is its own moment."""
    return at > row.received_at or (at != row.received_at and any(clock_doubts(row, world)))


def clock_doubts(row: Recorded, world: World) -> Iterator[str]:
    """Say what of the sender's clock and the order of its counter speaks against the stamp of an event."""
    stamp = row.event.occurred_at
    if stamp is not None and stamp > row.received_at and row.event.adverse():
        yield "ahead"
    if row.suspect_order:
        yield "counter"
    if row.sent_at is None:
        return
    if abs(row.received_at - row.sent_at) > world.tolerance(row.event.site or "", row.received_at):
        yield "clock"


def lies_before(known: Fact, moment: datetime) -> bool:
    """Say whether a fact lies before a moment; a date alone does with its whole day."""
    return known.at < moment if known.as_of == known.ends or known.echo else known.ends <= moment


def _late_without_clock(known: Fact) -> bool:
    """Say whether a message that states no clock came over an hour after its stamp; an import is spared."""
    row = known.recorded
    return row.sent_at is None and not row.imported and row.received_at - known.at > HOUR


def watch(facts: Iterable[Fact]) -> datetime | None:
    """Give the last receipt of bad news that came late without a clock: good news up to it may make it suspect."""
    watched = [
        known.recorded.received_at
        for known in facts
        if known.event.adverse() and not known.echo and _late_without_clock(known)
    ]
    return max(watched, default=None)
