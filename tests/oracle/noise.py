"""Kinds that change no unit's standing yet: the random histories post them too."""

from __future__ import annotations

from datetime import datetime, timedelta
from random import Random
from typing import TYPE_CHECKING, Any

from tests.oracle.acts import LOTS, PEOPLE, SITES, post
from tests.oracle.posting import Posted, say

if TYPE_CHECKING:
    from tests.oracle.histories import Plot

TASK = {
    "task": "weld",
    "name": "Welding",
    "substances": [],
    "oxygen": "proven",
    "space": "open",
}
GOODS = {"item": "p3", "quantity": 4, "unit": "piece"}


def noise(plot: Plot) -> None:
    """Say something of a person, of stock, of an order, of a recall, of an exception or of a task."""
    until = (plot.now + timedelta(days=30)).date().isoformat()
    site, other, who = plot.pick(*SITES), plot.pick(*SITES), plot.pick(*PEOPLE)
    choices: list[tuple[str, dict[str, Any]]] = [
        ("fit-tested", {"person": who, "model": "mask", "size": "m", "method": "qualitative", "passed": True}),
        ("medically-cleared", {"person": who, "until": until}),
        ("assigned", {"person": who, "task": "weld"}),
        ("stock-received", {"site": site, **GOODS}),
        ("stock-counted", {"site": site, **GOODS}),
        ("stock-discarded", {"site": site, **GOODS, "reason": "expired"}),
        ("stock-moved", {"site": site, "to_site": other, **GOODS}),
        ("reorder-approved", {"proposal": "prop-1"}),
        ("order-placed", {"proposal": "prop-1", "order": "po-1"}),
        ("order-cancelled", {"order": "po-1", "reason": "not needed"}),
        ("recall-closed", {"recall": "r-1"}),
        ("exception-acknowledged", {"report": "used-without-check", "row": "row-1", "reason": "spoken to"}),
        ("task-defined", dict(TASK)),
    ]
    kind, fields = plot.pick(*choices)
    post(plot, kind, "m-1", key="office", **fields)


def stocked(random: Random, moments: list[datetime], received: datetime) -> list[Posted]:
    """Say of stock what came, went and was counted, in places or not, of lots, expiries and units of all sorts.

    Some of it states its day alone.
    """
    said = []
    for number, at in enumerate(moments):
        kind = random.choice(["received", "received", "counted", "discarded", "moved"])
        fields: dict[str, Any] = {
            "site": random.choice(SITES),
            "item": random.choice(["p3", "p3", "p3", "cell"]),
            "lot": random.choice(LOTS),
            "expires": random.choice([*[None] * 30, "2026-06", "2026-06-30", "2027-01"]),
            "unit": random.choice([*["piece"] * 9, "Piece", "box", "EA", "each"]),
            "quantity": random.randrange(1, 9),
        }
        if kind == "moved":
            fields["to_site"] = random.choice(SITES)
        else:
            fields["place"] = random.choice([None, "store-a", "store-b"])
        fields |= {"reason": "wet"} if kind == "discarded" else {}
        given = {name: value for name, value in fields.items() if value is not None}
        id_ = f"01900000-0000-7000-8001-{number:012x}"
        stamp = at.date().isoformat() if random.random() < 0.3 else at.isoformat()
        said.append(say(f"stock-{kind}", stamp, "m-1", received=received.isoformat(), id=id_, **given))
    return said
