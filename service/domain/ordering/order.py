"""An order: a proposal that went to a supplier under a number of the firm's other system, and how far it has come."""

from collections.abc import Sequence
from datetime import date, datetime
from typing import Literal
from uuid import UUID

import msgspec

from service.domain.ordering.lines import Line

State = Literal["open", "approved", "placed", "part-received", "closed", "short", "cancelled"]
"""How far a proposal is. `closed`: all has come. `short`: it ended with less than was ordered."""
ENDED: frozenset[State] = frozenset({"closed", "short", "cancelled"})


class Deed(msgspec.Struct, frozen=True):
    """Who did something about an order, when, and which event says so."""

    by: str
    at: datetime
    event: UUID
    seq: int


class Arrival(msgspec.Struct, frozen=True):
    """A receipt against an order: of so much of an item, at a site, on its local day."""

    site: str
    item: str
    quantity: float
    unit: str
    on: date
    event: UUID
    seq: int


class Order(msgspec.Struct, frozen=True, kw_only=True):
    """One proposal's part of an order by its number. `arrivals` are those of the whole number.

    `placed_on` is the local day of its placement.
    """

    order: str
    proposal: str
    site: str | None
    supplier: str | None
    expected_on: date | None
    placed: Deed
    placed_on: date
    lines: tuple[Line, ...]
    arrivals: tuple[Arrival, ...] = ()
    cancelled: Deed | None = None

    @property
    def state(self) -> State:
        """Say how far it is."""
        return state_of(self.lines, cancelled=self.cancelled is not None)

    @property
    def outstanding(self) -> tuple[Line, ...]:
        """Give the lines of which something is still to come."""
        return () if self.cancelled else tuple(line for line in self.lines if line.outstanding > 0)


def state_of(lines: Sequence[Line], *, cancelled: bool) -> State:
    """Say how far an order with such lines is.

    It follows from quantities alone: what comes after it was called off has come all the same. An order of which nobody
    said how much is closed by whatever comes.
    """
    received = any(line.received > 0 for line in lines)
    left = any(line.outstanding > 0 for line in lines)
    if received and not left:
        return "closed"
    if cancelled:
        return "short" if received else "cancelled"
    return "part-received" if received else "placed"
