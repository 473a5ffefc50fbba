"""What joins the units that a component may go to and fro between."""

from typing import Any

import pytest

from service.domain.event import AssetEvent
from service.domain.kin import fold_kin, resume
from service.domain.swaps import brings, component_told, hangs_on, serials_moved
from tests.domain.folding import Folding
from tests.oracle.firm import PLAIN, register, tell
from tests.oracle.posting import Posted, log


def swapped(kind: str, **fields: Any) -> Posted:
    """Say what was put in and taken out."""
    return tell(kind, "2026-03-02 10:00", position="battery", reason="schedule", **fields)


PUT = {"item": "cell", "serial": " Cell-1", "condition": "refitted"}
TAKEN = {"serial": "cell-2 "}
COMPONENT = register("2026-01-05 09:00", "B-1", model="pack", serial=" cell-1", fitted_to="A-1")


@pytest.mark.parametrize(
    ("posted", "asked", "brought"),
    [
        (COMPONENT, {"swap:CELL-1"}, {"component:CELL-1"}),
        (register(), set(), set()),
        (swapped("part-replaced", in_=PUT), {"component:CELL-1"}, {"swap:CELL-1"}),
        (swapped("part-replaced", out=TAKEN), {"component:CELL-2"}, {"swap:CELL-2"}),
        (
            swapped("filter-replaced", in_=PUT, out=TAKEN),
            {"component:CELL-1", "component:CELL-2"},
            {"swap:CELL-1", "swap:CELL-2"},
        ),
        (swapped("part-replaced", in_={"item": "cell", "condition": "new"}, out={"lot": "L-1"}), set(), set()),
        (tell("cleaned", "2026-03-02 10:00", scope="unit", method="wiped"), set(), set()),
    ],
)
def test_swaps_and_components_ask_for_each_other(posted: Posted, asked: set[str], brought: set[str]) -> None:
    """By the serial number as it is compared: what one of them asks for is what the other brings."""
    event = Folding(log([*PLAIN, register(), posted]), []).rows[-1].event
    assert (hangs_on(event), brings(event)) == (asked, brought)
    assert serials_moved(event) == {ref.removeprefix("swap:") for ref in brought if ref.startswith("swap:")}
    assert component_told(event) == ("CELL-1" if posted is COMPONENT else None)


def test_a_kin_remembers_what_its_swaps_and_components_asked_for() -> None:
    """Folded from its beginning, and on from where it was left, it hangs on what may be told of them later."""
    last = swapped("part-replaced", in_={**PUT, "serial": "cell-3"})
    folding = Folding(log([*PLAIN, register(), COMPONENT, swapped("part-replaced", out=TAKEN), last]), [])
    rows = [row for row in folding.rows if isinstance(row.event, AssetEvent)]
    before = fold_kin(rows[:-1], [], folding.world.fresh())
    assert before.snapshot is not None
    after = resume(before.snapshot, rows[-1:], before.tags, folding.world.fresh())
    assert after is not None
    told = {ref for ref in before.asked.placing if ref.startswith(("swap:", "component:"))}
    assert told == {"swap:CELL-1", "component:CELL-2"}
    assert "component:CELL-3" in after.asked.placing
