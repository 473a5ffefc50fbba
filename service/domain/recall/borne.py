"""Borne: a component with those who had and wore the unit that it was fitted in (R51), as far as it sat there.

Where a swap states its day alone, whoever had or wore that unit on the day is told, for no second before its end.
"""

from collections.abc import Iterable, Iterator

from msgspec.structs import replace

from service.domain.lodging import Lodging
from service.domain.recall.impact import Life
from service.domain.recall.wearings import Wearing
from service.domain.stays import Stay


def borne(life: Life, lodgings: Iterable[Lodging[Life]]) -> Life:
    """Give a component's life with the hands and the wearings of the units that bore it."""
    every = list(lodgings)
    stays = [*life.stays, *(stay for lodging in every for stay in _hands(lodging))]
    worn = (*life.borne, *(one for lodging in every for one in _worn(lodging)))
    in_order = tuple(sorted(stays, key=lambda stay: (stay.since, stay.position or "")))
    return replace(life, stays=in_order, own=None, borne=worn)


def _hands(lodging: Lodging[Life]) -> Iterator[Stay]:
    for stay in lodging.host.stays:
        begins, ends = max(stay.since, lodging.day), min(stay.until, lodging.until)
        if stay.holder is not None and max(stay.day or begins, lodging.day) < ends:
            day = None if stay.day is None else max(stay.day, lodging.day)
            counts = max(stay.began, lodging.since)
            yield replace(stay, since=begins, began=counts, until=max(begins, ends), day=day)


def _worn(lodging: Lodging[Life]) -> Iterator[Wearing]:
    """Give the wearings that began meanwhile, or may have lasted into that."""
    host, until, day = lodging.host, lodging.until, lodging.day
    for one in host.worn:
        ends = one.ends if until > host.at else until if one.ends is None else min(one.ends, until)
        if one.since < until and (one.since >= day or ends is None or ends > day):
            counts = lodging.since <= host.at and (ends is None or ends > lodging.since)
            begins = max(one.at, lodging.since if counts else day)
            said = one.until and (min(one.until, until) if counts else begins)
            yield replace(one, at=begins, until=said, since=max(one.since, day), ends=ends)
