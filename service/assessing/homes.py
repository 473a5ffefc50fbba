"""Homes: at which sites parts were fitted of which nobody said where, as known by the newest fold of their units."""

from collections.abc import Iterable
from datetime import datetime
from itertools import groupby
from typing import NamedTuple
from uuid import UUID

from service.assessing.moment import Question
from service.domain.stock.homes import Spell, home_of
from service.domain.stock.traces import ADRIFT, adrift
from service.store.fits_adrift import fits_adrift
from service.store.refs_traced import refs_traced


class Home(NamedTuple):
    """The site of a fit: of an item, by an event."""

    item: str
    event: UUID
    site: str


async def homes(question: Question, items: Iterable[str], since: datetime | None) -> list[Home]:
    """Give the sites of all such fits of items, perhaps of those filed from a moment on."""
    conn, organisation, until = question.conn, question.organisation, question.judged_to
    rows = await fits_adrift(conn, organisation, map(adrift, items), since=since, until_seq=until)
    found = []
    for (subject, event, day), told in groupby(rows, key=lambda one: one[:3]):
        spells = [Spell(one.site, one.since, one.until, one.own) for one in told]
        found.append(Home(subject.partition(":")[2], event, home_of(spells, day, question.world)))
    return found


async def items_adrift(question: Question) -> list[str]:
    """Name the items of which any part was ever fitted nobody said where."""
    return await refs_traced(question.conn, question.organisation, ADRIFT)
