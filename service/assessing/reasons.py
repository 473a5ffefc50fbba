"""Reasons: why units were not dealt with, as said when the campaign of a recall was closed.

A reason names a tag, and means the unit that had it as it was said, as it was under the recall then: it speaks for no
other unit that has the tag since, nor for what the unit came under the recall with afterwards, be it on the day that a
closing states alone. What came in on a day alone may have been there since that began.
"""

from collections import defaultdict
from collections.abc import Iterable
from datetime import datetime
from uuid import UUID

from service.assessing.moment import Question
from service.assessing.tags import units_meant_at
from service.domain.recall.campaign import Campaign, Given, Reason

Reasons = dict[UUID, list[Given]]
"""By unit, in order."""


async def reasons_given(question: Question, campaign: Campaign | None) -> Reasons:
    """Give the reasons by unit."""
    given = () if campaign is None else campaign.given
    if not given:
        return {}
    meant = await units_meant_at(question, {(one.tag, one.at) for one in given})
    found: Reasons = defaultdict(list)
    for one in given:
        unit = meant.get((one.tag, one.at))
        if unit is not None:
            found[unit].append(one)
    return found


def counting(given: Iterable[Given], earliest: datetime | None) -> Reason | None:
    """Give the last reason that counts for a unit that came under the recall then, at the earliest (None: never)."""
    return next((one.reason for one in reversed([*given]) if earliest is not None and one.at >= earliest), None)
