"""Stopping: which units that a recall bears on are still to be ordered out of use, and what each order is called."""

from collections.abc import Iterable
from typing import Literal
from uuid import UUID, uuid5

import msgspec

from service.domain.unit import Unit
from service.domain.withdrawal import held_for

Reason = Literal["retired", "missing", "not-accepted", "tag-of-another"]
"""Why a unit is passed over: it is gone for good, nobody can find it, its order is a rejected message now, or its tag
means another unit, which an order by that tag would stop."""


class Skipped(msgspec.Struct, frozen=True):
    """A unit that is passed over."""

    asset: str
    reason: Reason


class Stopping(msgspec.Struct, frozen=True):
    """The units that a recall bears on: those to be ordered out of use, how many are held, and those passed over."""

    to_stop: tuple[Unit, ...]
    already: int
    skipped: tuple[Skipped, ...]


def stopping(units: Iterable[Unit], recall: str) -> Stopping:
    """Divide the units that a recall bears on (R34). One held since before its last remedy is stopped anew (R43)."""
    to_stop: list[Unit] = []
    skipped: list[Skipped] = []
    already = 0
    for unit in units:
        if unit.retired or unit.missing:
            skipped.append(Skipped(unit.tag, "retired" if unit.retired else "missing"))
        elif held_for(unit, recall):
            already += 1
        else:
            to_stop.append(unit)
    return Stopping(tuple(to_stop), already, tuple(skipped))


def order_id(organisation: UUID, recall: str, unit: UUID, nth: int) -> UUID:
    """Name the order that stops a unit for a recall for the nth time, from 0 (RFC 9562 section 5.5).

    The name follows from what is ordered alone, so that whoever orders it at the same time orders the same.
    """
    return uuid5(unit, f"{organisation}/quarantined/{recall}/{nth}")
