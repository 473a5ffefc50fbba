"""Proposals as they are told: what is to be ordered, with all that it follows from, and what became of it."""

from collections.abc import Sequence
from datetime import UTC, timedelta
from decimal import Decimal

from service.assessing.arithmetic import arithmetic, why
from service.assessing.reckoner import Proposal
from service.assessing.shelves import Shelf
from service.domain.demand.choosing import Choice
from service.domain.demand.fitted import Expected
from service.domain.kinds.item_defined import ItemDefined
from service.domain.money import exact, extended, priced
from service.domain.ordering.costs import Cost
from service.domain.ordering.life import Life
from service.domain.ordering.lines import Line
from service.domain.ordering.order import Deed, Order
from service.domain.ordering.reckoning import ORDER_DAYS
from service.domain.ordering.waiting import Waiting

MOST_EXPECTED = 100
"""Changes that are listed one by one; the arithmetic counts all."""
Told = dict[str, object]


def proposed(name: str, item: ItemDefined, proposal: Proposal, shelf: Shelf, expected: Sequence[Expected]) -> Told:
    """Tell a proposal that nobody has acted on."""
    found = proposal.reckoned
    bought = proposal.bought
    reckoned = found.reorder
    end = found.situation.today + timedelta(days=reckoned.protected_days + ORDER_DAYS)
    mine = [one for one in expected if one.change.item == item.item and one.change.on <= end]
    return {
        **_head(name, shelf, item, "open", bought.quantity),
        "transfers": proposal.transfers,
        "because": why(proposal),
        "arithmetic": arithmetic(proposal),
        "forecast": {"unforeseen": _forecast(found.unforeseen), "foretold": _forecast(found.foretold)},
        "condition": [
            {"asset": one.tag, "position": one.position, "on": one.change.on, "because": one.change.because}
            for one in sorted(mine, key=lambda one: (one.change.on, one.tag))[:MOST_EXPECTED]
        ],
        "cost": _cost(item, bought.quantity),
        "approval": None,
        "order": None,
        "other_orders": [],
    }


def acted_on(life: Life, shelf: Shelf, item: ItemDefined | None, waiting: Waiting) -> Told:
    """Tell what became of a proposal; what it rested on when it was acted on is told of one that is read alone."""
    quantity = life.quantity
    shown = life.order
    return {
        **_head(life.proposal, shelf, item, life.state, quantity),
        "transfers": [],
        "because": _history(life, waiting),
        "arithmetic": None,
        "forecast": None,
        "condition": [],
        "cost": _cost_now(life, item),
        "approval": None
        if life.approval is None
        else {
            **_deed(life.approval.deed),
            "quantity": life.approval.quantity,
            "within_cap": life.approval.within_cap,
        },
        "order": None if shown is None else _order(shown, waiting),
        "other_orders": [order.order for order in life.orders if order is not shown],
    }


def _head(name: str, shelf: Shelf, item: ItemDefined | None, state: str, quantity: float | None) -> Told:
    return {
        "id": name,
        "site": shelf.site,
        "item": shelf.item,
        "name": None if item is None else item.name,
        "unit": None if item is None else item.unit,
        "state": state,
        "quantity": quantity,
    }


def _forecast(choice: Choice) -> Told:
    score = choice.score
    return {
        "method": choice.forecast.method,
        "because": choice.because,
        "pattern": choice.pattern.kind,
        "per_week": choice.forecast.rate,
        "weeks": len(choice.forecast.series),
        "error": None
        if score is None
        else {
            "origins": score.origins,
            "periods": score.periods,
            "pinball": score.pinball,
            "covered": score.covered,
            "bias": score.bias,
            "mase": score.mase,
        },
    }


def _cost(item: ItemDefined, quantity: float) -> Told | None:
    if item.price is None or item.currency is None:
        return None
    amount = extended(exact(quantity), item.price, item.currency)
    return {"amount": priced(amount, item.currency), "currency": item.currency}


def _cost_now(life: Life, item: ItemDefined | None) -> Told | None:
    """Give what was ordered or approved costs: by the prices of the order once it says any, else by the item's.

    It is None where there is no price, and where the lines are in several currencies.
    """
    lines = [line for order in life.kept for line in order.lines if line.ordered is not None]
    if all(line.price is None for line in lines):
        return None if item is None or life.quantity is None else _cost(item, life.quantity)
    costs = [_line_cost(line, item) for line in lines]
    known = [cost for cost in costs if cost is not None]
    currencies = {cost.currency for cost in known}
    if len(known) < len(costs) or len(currencies) != 1:
        return None
    (currency,) = currencies
    return {"amount": priced(sum((cost.amount for cost in known), Decimal(0)), currency), "currency": currency}


def _line_cost(line: Line, item: ItemDefined | None) -> Cost | None:
    if line.price is not None and line.currency is not None:
        price, currency = Decimal(line.price), line.currency
    elif item is not None and item.price is not None and item.currency is not None:
        price, currency = item.price, item.currency
    else:
        return None
    return Cost(extended(exact(line.ordered or 0.0), price, currency), currency)


def _deed(deed: Deed) -> Told:
    return {"by": deed.by, "at": deed.at.astimezone(UTC), "event": deed.event, "seq": deed.seq}


def _order(order: Order, waiting: Waiting) -> Told:
    over = waiting.over_at(order)
    return {
        "order": order.order,
        "state": order.state,
        "supplier": order.supplier,
        "expected_on": order.expected_on,
        "overdue_since": None if over is None else over.astimezone(UTC),
        "placed": _deed(order.placed),
        "cancelled": None if order.cancelled is None else _deed(order.cancelled),
        "lines": [_line(line, going_on=order.cancelled is None) for line in order.lines],
    }


def _line(line: Line, *, going_on: bool) -> Told:
    return {
        "line": line.line,
        "item": line.item,
        "unit": line.unit,
        "ordered": line.ordered,
        "received": line.received,
        "outstanding": line.outstanding if going_on else 0.0,
        "price": None if line.price is None or line.currency is None else priced(Decimal(line.price), line.currency),
        "currency": line.currency,
    }


def _history(life: Life, waiting: Waiting) -> str:
    """Say in words what became of it."""
    told = []
    if life.approval is not None:
        how = "within the cap" if life.approval.within_cap else f"by {life.approval.deed.by}"
        told.append(f"Approved {how} on {life.approval.on}.")
    told += [f"Ordered as {order.order} on {order.placed_on}; {_far(order, waiting)}." for order in life.orders]
    return " ".join(told)


def _far(order: Order, waiting: Waiting) -> str:
    if waiting.over_at(order) is None:
        return order.state
    return f"{order.state}, and overdue: it was to come by {waiting.due_on(order)}"
