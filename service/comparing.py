"""Comparing: what somebody says of reports and recalls is held against them as they are, before it is recorded.

What contradicts them is recorded all the same, with its conflict, unless its sender asked for strict handling. It is
compared with a snapshot taken just before: what others record in between is not seen, and nothing rests on it, since
an acknowledgement resolves nothing and a closing clears no unit.
"""

from collections.abc import Iterator, Sequence
from itertools import groupby

from msgspec.structs import replace

from service import exceptions
from service.assessing.affected import affected
from service.assessing.moment import Question, asked
from service.assessing.recalls import known
from service.domain.caller import Caller
from service.domain.conflict import Conflict
from service.domain.facts import instant
from service.domain.kinds.exception_acknowledged import ExceptionAcknowledged
from service.domain.kinds.recall_closed import RecallClosed
from service.domain.recall.campaign import Campaign
from service.domain.unit import Unit
from service.domain.words import MANY
from service.ledger import Ledger
from service.recording.incoming import Read

OUTSTANDING = "units-outstanding"


def together(reads: Sequence[Read]) -> Iterator[list[Read]]:
    """Divide messages into those that may be compared at once: each closing alone, since it may rest on the last."""
    for _, group in groupby(enumerate(reads), key=_sort):
        yield [one for _, one in group]


def _sort(placed: tuple[int, Read]) -> tuple[bool, int | None]:
    place, one = placed
    closes = isinstance(one.event, RecallClosed)
    return isinstance(one.event, ExceptionAcknowledged), place if closes else None


async def compared(ledger: Ledger, caller: Caller, reads: Sequence[Read]) -> list[Read]:
    """Give the messages with what contradicts them."""
    held = await exceptions.compared(ledger, caller, reads)
    return [await _closing_compared(ledger, caller, one) for one in held]


async def _closing_compared(ledger: Ledger, caller: Caller, one: Read) -> Read:
    """Compare a closing with the units that the recall bears on at its moment, of the whole firm.

    Each needs a reason, there or in a closing before since the recall was opened. What is only for information asks
    nothing of any unit.
    """
    event = one.event
    if not isinstance(event, RecallClosed):
        return one
    async with asked(ledger, caller) as question:
        then = replace(question, as_at=instant(event, None, question.world))
        campaign = known(then).get(event.recall)
        reasoned = {given.asset for given in event.outstanding} | (campaign.reasoned if campaign else frozenset())
        left = [unit for unit in await _outstanding(then, campaign) if unit.tag not in reasoned]
    reach = caller.sites if event.site is None else frozenset({event.site})
    return one.contradicted(_conflict(left, reach)) if left else one


async def _outstanding(question: Question, campaign: Campaign | None) -> list[Unit]:
    """Find the units that something is still to be done about: what is retired is dealt with."""
    if campaign is None or campaign.rehearsal:
        return []
    openings = [one for one in campaign.openings if one.action != "information"]
    return [unit for unit in await affected(question, openings, None) if not unit.retired]


def _conflict(left: Sequence[Unit], reach: frozenset[str] | None) -> Conflict:
    """Tell of units that no reason is given for: how many, and which first, of those at the sites of its sender."""
    tags = tuple(unit.tag for unit in left if reach is None or unit.site in reach)
    return Conflict(OUTSTANDING, count=len(tags), assets=tags[:MANY])
