"""Comparing: what is said of reports, recalls and reorders is held against them as they are, before it is recorded.

What contradicts them is recorded all the same, with its conflict, unless its sender asked for strict handling. It is
compared with a snapshot taken just before: what others record in between is not seen, and no unit's standing rests on
it, since an acknowledgement resolves nothing and a closing clears no unit. A closing that leaves units without a reason
ends no campaign, and none ends what an opening asks that was recorded after it.
"""

from collections import Counter
from collections.abc import Collection, Iterator, Sequence
from datetime import datetime
from itertools import groupby

from msgspec.structs import replace

from service import approvals, exceptions
from service.assessing.moment import Question, asked
from service.assessing.reasons import counting, reasons_given
from service.assessing.recalls import known, outstanding
from service.assessing.tags import units_meant_at
from service.assessing.tags_at import tags_at
from service.domain.caller import Caller
from service.domain.conflict import UNKNOWN_RECALL, Conflict
from service.domain.facts import instant
from service.domain.kinds.exception_acknowledged import ExceptionAcknowledged
from service.domain.kinds.recall_closed import RecallClosed
from service.domain.recall.campaign import IDLE, UNREASONED, Campaign
from service.domain.unit import Unit
from service.domain.words import MANY
from service.ledger import Ledger
from service.recording.incoming import Read

TWICE = "reason-given-twice"


def together(reads: Sequence[Read]) -> Iterator[list[Read]]:
    """Divide messages into those that may be compared at once.

    Each closing is alone, and each act about orders, since it may rest on the last.
    """
    for _, group in groupby(enumerate(reads), key=_sort):
        yield [one for _, one in group]


def _sort(placed: tuple[int, Read]) -> tuple[bool, int | None]:
    place, one = placed
    alone = isinstance(one.event, RecallClosed | approvals.Act)
    return isinstance(one.event, ExceptionAcknowledged), place if alone else None


async def compared(ledger: Ledger, caller: Caller, reads: Sequence[Read]) -> list[Read]:
    """Give the messages with what contradicts them."""
    held = await exceptions.compared(ledger, caller, reads)
    closings = [await _closing_compared(ledger, caller, one) for one in held]
    return [await approvals.compared(ledger, caller, one) for one in closings]


async def _closing_compared(ledger: Ledger, caller: Caller, one: Read) -> Read:
    """Compare a closing with the units that the recall bears on at its moment, of the whole firm.

    Each needs a reason, there or in a closing before since it came under the recall. A key bound to sites gives reasons
    for the units there alone, and so ends no campaign that is not over elsewhere (R38 is of events, which name a site;
    this is of the firm, and recorded: 3.7). What is only for information asks nothing of any unit. Of a recall that
    nobody has opened yet it is not known what that bears on, but where the units are.
    """
    event = one.event
    if not isinstance(event, RecallClosed):
        return one
    tags = [given.asset for given in event.outstanding]
    async with asked(ledger, caller) as question:
        then = replace(question, as_at=instant(event, None, question.world))
        if event.recall not in known(question):
            return one.contradicted(UNKNOWN_RECALL, *_idle(tags, await tags_at(then, tags, caller.sites)))
        campaign = known(then).get(event.recall)
        under = await _under(then, campaign)
        meant = await units_meant_at(then, {(tag, then.as_at) for tag in tags})
        earlier = await reasons_given(then, campaign)
    named = {tag: unit for (tag, _), unit in meant.items()}
    theirs = {unit.unit for unit, _ in under if caller.sites is None or unit.site in caller.sites}
    reasoned = theirs.intersection(named.values())
    left = [
        unit
        for unit, earliest in under
        if unit.unit not in reasoned and counting(earlier.get(unit.unit, ()), earliest) is None
    ]
    reach = caller.sites if event.site is None else frozenset({event.site})
    return one.contradicted(*_left(left, reach), *_idle(tags, {tag for tag, unit in named.items() if unit in theirs}))


async def _under(question: Question, campaign: Campaign | None) -> list[tuple[Unit, datetime]]:
    """Find the units that something is still to be done about, each since when at the earliest."""
    if campaign is None or campaign.rehearsal:
        return []
    openings = [one for one in campaign.openings if one.action != "information"]
    return await outstanding(question, openings) if openings else []


def _left(left: Sequence[Unit], reach: frozenset[str] | None) -> Iterator[Conflict]:
    """Tell of units that no reason is given for: how many, and which first, of those at the sites of its sender."""
    tags = tuple(unit.tag for unit in left if reach is None or unit.site in reach)
    if left:
        yield Conflict(UNREASONED, count=len(tags), assets=tags[:MANY])


def _idle(named: Sequence[str], theirs: Collection[str]) -> Iterator[Conflict]:
    """Tell of reasons that count for nothing, and of units that two are given for."""
    idle = tuple(dict.fromkeys(tag for tag in named if tag not in theirs))
    twice = tuple(tag for tag, times in Counter(named).items() if times > 1 and tag in theirs)
    for code, tags in ((IDLE, idle), (TWICE, twice)):
        if tags:
            yield Conflict(code, count=len(tags), assets=tags)
