"""Recalls in the random histories: opened, opened again, rehearsed, closed, taken back, and units let go on that."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING, Any

from tests.oracle.acts import MODELS, model_of, post
from tests.oracle.posting import Posted

if TYPE_CHECKING:
    from tests.oracle.histories import Plot

RECALLS = ("r-1", "r-1", "r-2")
PARTS: tuple[dict[str, Any], ...] = (
    {"item": "p3"},
    {"item": "p3", "lot": "l-9"},
    {"item": "p3", "lots": ["L-9", "L-11"]},
    {"item": "tube", "lot_from": "L-9", "lot_to": "L-10"},
    {"item": "pre", "lot_from": "L-10"},
    {"lot_to": "L-9", "model": "hood"},
    {"item": "cell", "serials": ["CELL-1", "x"]},
    {"item": "cell", "serial_from": "cell-2"},
    {"item": "abek", "expires_from": "2026-01-31", "expires_to": "2026-02"},
    {"item": "tube", "received_from": "2025-01-01"},
)
UNITS: tuple[dict[str, Any], ...] = (
    {"model": "hood"},
    {"model": "pack", "serial_to": "CELL-1"},
    {"serials": ["s-u-1", "s-u-03"]},
    {"serial_from": "S-U-2", "serial_to": "S-U-3"},
    {"model": "mask", "made_from": "2025-03-01"},
    {"received_to": "2025-06-30"},
)


def recall_act(plot: Plot) -> None:
    """Open a recall, close one, or take one back."""
    plot.pick(open_recall, open_recall, close_recall, retract)(plot)


def open_recall(plot: Plot) -> None:
    """Open a recall, by one criterion or two."""
    criteria = [dict(plot.pick(*PARTS, *UNITS)) for _ in range(plot.pick(1, 1, 2))]
    action = plot.pick("stop-use", "rectify-by", "inspect", "information", "stop-use")
    due_on = (plot.now + timedelta(days=plot.pick(-2, 1, 9, 20))).date().isoformat() if plot.chance(60) else None
    post(
        plot, "recall-opened", plot.pick("m-1", "m-2"), recall=plot.pick(*RECALLS), action=action, criteria=criteria,
        due_on=due_on, rehearsal=True if plot.chance(8) else None, key=plot.pick("office", "desk"),
    )  # fmt: skip


def close_recall(plot: Plot) -> None:
    """Close a recall, which ends nothing for any unit."""
    post(plot, "recall-closed", "m-1", recall=plot.pick(*RECALLS), key="desk")


def retract(plot: Plot) -> Posted | None:
    """Void an opening, or a voiding."""
    opened = [one for one in plot.posted if one.message["kind"] == "recall-opened"]
    if not opened:
        return None
    target = opened[-1]
    voidings = [one for one in plot.posted if one.message.get("event") == target.message["id"]]
    if voidings and plot.chance(40):
        target = plot.pick(*voidings)
    key = plot.pick(*[name for name in ("office", "desk") if name != target.key], target.key)
    return post(plot, "voided", plot.pick("p-3", "m-1"), event=target.message["id"], reason="wrong lot", key=key)


def let_go(plot: Plot, tag: str) -> None:
    """Void the last opening, have a unit checked by another, and release it on that."""
    if plot.chance(60):
        open_recall(plot)
        plot.now += timedelta(minutes=20)
    voided = retract(plot)
    if voided is None:
        return
    plot.now += timedelta(minutes=20)
    points = {found["point"]: "pass" for found in MODELS[model_of(plot, tag)]["points"]}
    post(plot, "checked", "p-9", asset=tag, wearer="p-9", points=points)
    plot.now += timedelta(minutes=20)
    post(plot, "released", "rel-1", asset=tag, voiding=voided.message["id"], key=plot.pick("desk", "lead"))


def rule_out(plot: Plot, tag: str) -> None:
    """Withdraw a unit under a recall of its filter's lot, find out which lot that is, and release the unit."""
    recall, position = plot.pick(*RECALLS), MODELS[model_of(plot, tag)]["positions"][:1]
    if not position:
        return
    name, item = position[0]["position"], position[0]["items"][0]
    criteria = [{"item": item, "lot": "L-9"}]
    post(plot, "recall-opened", "m-2", recall=recall, action="stop-use", criteria=criteria, key="desk")
    plot.now += timedelta(minutes=plot.pick(0, 20))
    post(plot, "quarantined", "m-2", asset=tag, reason="recall", recall=plot.pick(recall, recall, None))
    plot.now += timedelta(minutes=plot.pick(0, 20, 20))
    part = {"item": item, "lot": plot.pick("L-10", "L-10", "L-09"), "condition": "new"}
    post(plot, "part-identified", "p-2", asset=tag, position=name, part=part)
    plot.now += timedelta(minutes=20)
    post(plot, "released", "rel-1", asset=tag, key="desk")
