"""Kinds that change no unit's standing yet: the random histories post them too."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING, Any

from tests.oracle.acts import PEOPLE, SITES, post

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
