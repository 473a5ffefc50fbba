"""Authority: whose approval of a proposal counts.

A manager's or an administrator's does, by the key that it was posted with, where that reaches the site. Any other's
counts within the policy `order-cap`: where quantity times price of the item is no more than its amount, in the same
currency. It must be so at its instant and when it was received, since a sender chooses the one and not the other: every
doubt falls on the safe side. And it must not have been contradicted as it was recorded: how much was proposed then
rests on stock and use, which nothing here knows.
"""

from collections.abc import Sequence
from datetime import UTC, datetime
from typing import Final

from service.domain.caller import KeyHolder, Role
from service.domain.conflict import APPROVAL_WITHOUT_AUTHORITY, ORDER_WITHOUT_APPROVAL, UNKNOWN_PROPOSAL
from service.domain.kinds.order_placed import OrderLine, OrderPlaced
from service.domain.kinds.reorder_approved import ReorderApproved
from service.domain.money import exact
from service.domain.ordering.acts import Said
from service.domain.ordering.costs import Cost, costs_of, wanted
from service.domain.ordering.lines import summed
from service.domain.ordering.naming import Need
from service.domain.rulebook import Rulebook
from service.domain.stock.lines import is_alike
from service.domain.world import World

APPROVING: Final[frozenset[Role]] = frozenset({"manager", "administrator"})
REFUSED: Final = frozenset({APPROVAL_WITHOUT_AUTHORITY.code, ORDER_WITHOUT_APPROVAL.code, UNKNOWN_PROPOSAL.code})
"""With what an act was recorded that no cap approves."""


def cost_of(rulebook: Rulebook, item: str, quantity: float, at: datetime) -> Cost | None:
    """Give what so much of an item costs by its definition; None where it has no price."""
    found = rulebook.item(item, at)
    if found is None or found.price is None or found.currency is None:
        return None
    return Cost(exact(quantity) * found.price, found.currency)


def unit_at(rulebook: Rulebook, item: str, at: datetime) -> str | None:
    """Give the unit that an item is counted in; None where it is not defined."""
    found = rulebook.item(item, at)
    return None if found is None else found.unit


def cap_at(rulebook: Rulebook, site: str, at: datetime) -> Cost | None:
    """Give up to how much may be ordered at a site without a manager; None where no policy says so."""
    values = rulebook.policy("order-cap", at, site).values
    amount, currency = values["amount"], values["currency"]
    return None if amount is None or currency is None else Cost(amount, currency)


def within(cost: Cost | None, cap: Cost | None) -> bool:
    """Say whether a cost is known and within a cap of its currency."""
    return cost is not None and cap is not None and cost.currency == cap.currency and cost.amount <= cap.amount


def may_approve(holder: KeyHolder | None, site: str | None) -> bool:
    """Say whether a key approves whatever it costs."""
    return holder is not None and holder.role in APPROVING and (site is None or holder.reaches(site))


def counts(said: Said[ReorderApproved], need: Need | None, world: World) -> bool:
    """Say whether an approval counts; one within the cap must say its quantity. Its key must reach the site."""
    holder, site = world.key(said.row.key), said.event.site if need is None else need.site
    if holder is None or not (site is None or holder.reaches(site)):
        return False
    if may_approve(holder, site):
        return True
    quantity = said.event.quantity
    if need is None or quantity is None or _was_refused(said):
        return False
    return all(within_at(world.rulebook, need, quantity, at) for at in _moments(said))


def goes_by_itself(said: Said[OrderPlaced], need: Need | None, world: World) -> bool:
    """Say whether an order needs no approval: it is by whoever may give one, or was within the cap as it was posted."""
    if may_approve(world.key(said.row.key), said.event.site if need is None else need.site):
        return True
    if need is None or not said.event.lines or _was_refused(said):
        return False
    return all(beyond_cap(world.rulebook, need, said.event.lines, at) is None for at in _moments(said))


def _was_refused(said: Said[ReorderApproved] | Said[OrderPlaced]) -> bool:
    return any(conflict.code in REFUSED for conflict in said.row.conflicts)


def _moments(said: Said[ReorderApproved] | Said[OrderPlaced]) -> tuple[datetime, datetime]:
    return said.at, said.row.received_at.astimezone(UTC)


def beyond_cap(rulebook: Rulebook, need: Need, lines: Sequence[OrderLine], at: datetime) -> str | None:
    """Say why an order for a need is not approved without a manager; None where it is.

    It must be within the cap at the item's own price, and at the prices that it says itself, and in the item's unit.
    """
    if any(line.item != need.item for line in lines):
        return f"only {need.item!r} is proposed"
    cap, quantity = cap_at(rulebook, need.site, at), summed(line.quantity for line in lines)
    if cap is None:
        return "no policy 'order-cap' says up to how much may be ordered without a manager"
    by_item = cost_of(rulebook, need.item, quantity, at)
    if by_item is None:
        return f"item {need.item!r} has no price, so that nobody can say whether it is within the cap"
    unit = next((line.unit for line in lines if not is_alike(line.unit, unit_at(rulebook, need.item, at))), None)
    if unit is not None:
        return f"nobody can say what so many {unit} of item {need.item!r} cost"
    for cost in (by_item, *costs_of(wanted(lines), cost_of(rulebook, need.item, 1.0, at))):
        if not within(cost, cap):
            return f"{cost} are beyond the cap of {cap}"
    return None


def within_at(rulebook: Rulebook, need: Need, quantity: float, at: datetime) -> bool:
    """Say whether so much may be ordered for a need at a moment without a manager."""
    return within(cost_of(rulebook, need.item, quantity, at), cap_at(rulebook, need.site, at))
