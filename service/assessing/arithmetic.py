"""The arithmetic of a proposal as it is told: every number with those that it follows from, and the sum of it in words.

`http/describing/reorder_fields.py` says how each follows from the others.
"""

from collections import defaultdict
from collections.abc import Iterator, Mapping
from typing import Final

from service.assessing.reckoner import Held, Proposal
from service.domain.money import spelled

HELD: Final[Mapping[Held, str]] = {
    "closed": "the site is closed",
    "untold": "how much is on its way nobody said, or in another unit than the item's",
}


MOST_UNITS: Final = 100
"""Other units that are listed."""
FEW_UNITS: Final = 5
"""Of those the most that are told in words."""
DECIMALS: Final = 4
"""Of a quantity in words, as in documents; a mean use a day has no end of them."""


def arithmetic(proposal: Proposal) -> dict[str, object]:
    """Tell what a quantity follows from."""
    found, late = proposal.reckoned, proposal.late
    reckoned, usable = found.reorder, found.reorder.usable
    return {
        "lead_days": reckoned.lead_days,
        "lead_from": found.lead_from,
        "lead_variance": reckoned.lead_variance,
        "look_days": reckoned.look_days,
        "protected_days": reckoned.protected_days,
        "use_from": {
            "unforeseen": reckoned.unforeseen,
            "foretold": reckoned.foretold,
            "changes": reckoned.changes,
            "recalled": reckoned.recalls,
        },
        "use_mean": reckoned.use_mean,
        "use_variance": reckoned.use_variance,
        "family": reckoned.family,
        "level": reckoned.level,
        "reorder_point": reckoned.reorder_point,
        "order_days": reckoned.order_days,
        "use_between": reckoned.use_between,
        "order_up_to": reckoned.order_up_to,
        "fill_rate": reckoned.fill_rate,
        "in_stock": reckoned.in_stock,
        "in_other_units": proposal.others[:MOST_UNITS],
        "recalled": reckoned.recalled,
        "expiring": reckoned.expiring,
        "on_order": reckoned.on_order,
        "late": None if late is None else {"quantity": late.quantity, "since": late.since},
        "owed": reckoned.owed,
        "position": reckoned.position,
        "wanted": reckoned.wanted,
        "transferred": proposal.moved,
        "pack_size": reckoned.pack,
        "minimum_order": reckoned.minimum,
        "rounded": proposal.bought.rounded,
        "usable": None
        if usable is None
        else {
            "days": reckoned.usable_days,
            "use_mean": reckoned.usable_mean,
            "expected": usable.expected,
            "at_best": usable.at_best,
        },
        "limits": proposal.limits,
    }


def why(proposal: Proposal) -> str:
    """Say in words why so much is proposed."""
    return " ".join([_summed(proposal), *_besides(proposal)])


def _summed(proposal: Proposal) -> str:
    reckoned, bought = proposal.reckoned.reorder, proposal.bought
    there = _there(reckoned.position)
    if not reckoned.wanted and reckoned.position <= reckoned.reorder_point:
        return f"{there}: no use is known or expected, so nothing is needed."
    if not reckoned.wanted:
        return f"{there}: that is above the reorder point of {reckoned.reorder_point}, so nothing is needed."
    if proposal.held is not None:
        return f"{there}: {HELD[proposal.held]}, so nothing is proposed."
    point, level = reckoned.reorder_point, reckoned.order_up_to
    told = [f"{there}: that is not above the reorder point of {point}, so it is filled up to {level}."]
    from_each: defaultdict[str, float] = defaultdict(float)
    for one in proposal.transfers:
        from_each[one.from_site] += one.quantity
    told += [f"{_number(much)} come from {site}, which can spare them." for site, much in from_each.items()]
    limits = ", ".join(proposal.limits)
    told.append(f"{_number(bought.quantity)} are to be bought{f' (by {limits})' if limits else ''}.")
    return " ".join(told)


def _besides(proposal: Proposal) -> Iterator[str]:
    """Say what whoever decides must know besides: what is late, and what nobody can add up."""
    late = proposal.late
    if late is not None:
        yield f"{_number(late.quantity)} of what is on its way were expected by {late.since} and have not come."
    if proposal.others:
        told = ", ".join(f"{_number(one.quantity)} {one.unit}" for one in proposal.others[:FEW_UNITS])
        more = len(proposal.others) - FEW_UNITS
        yield f"What is there in other units is not counted: {told}{f' and {more} units more' if more > 0 else ''}."


def _there(position: float) -> str:
    if position < 0:
        return f"{_number(-position)} are missing beyond all that is there or on its way"
    return f"{_number(position)} are there or on their way, less what will expire or is owed"


def _number(quantity: float) -> str:
    return spelled(round(quantity, DECIMALS))
