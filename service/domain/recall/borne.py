"""Borne: a component with those who had and wore the unit that it was fitted in (R51), as far as it sat there."""

from collections.abc import Iterable, Iterator
from datetime import datetime

from msgspec.structs import replace

from service.domain.recall.impact import Life
from service.domain.stays import Stay
from service.domain.wearing import Use

Lodging = tuple[datetime, datetime, Life]
"""From when until when it sat in a unit, and that unit's life."""


def borne(life: Life, lodgings: Iterable[Lodging]) -> Life:
    """Give a component's life with the hands and the uses of the units that bore it."""
    every = list(lodgings)
    stays = [*life.stays, *(stay for lodging in every for stay in _hands(*lodging))]
    uses = [*life.uses, *(use for lodging in every for use in _uses(*lodging))]
    return replace(
        life,
        stays=tuple(sorted(stays, key=lambda stay: (stay.since, stay.position or ""))),
        uses=tuple(sorted(uses, key=lambda use: use.at)),
    )


def _hands(since: datetime, until: datetime, host: Life) -> Iterator[Stay]:
    for stay in host.stays:
        begins, ends = max(stay.since, since), min(stay.until, until)
        if stay.holder is not None and begins < ends:
            yield replace(stay, since=begins, began=begins, until=ends)


def _uses(since: datetime, until: datetime, host: Life) -> Iterator[Use]:
    """Give the wearings that began meanwhile, or had begun and lasted into that."""
    for use in host.uses:
        begins, ends = max(use.at, since), None if use.until is None else min(use.until, until)
        if use.worn and use.at < until and (use.at >= since or (ends is not None and ends > since)):
            yield replace(use, at=begins, until=ends)
