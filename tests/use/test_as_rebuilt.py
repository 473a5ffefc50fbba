"""Histories that are told so that what is stored is easily not what a rebuild makes of them."""

from typing import Any, Final

import pytest

from service.domain import marking
from service.ledger import Ledger
from tests.oracle.firm import FIRM, check, examine, issue, part, register, site, tell, wear
from tests.oracle.posting import Posted
from tests.use.posting import post
from tests.use.rebuilt import hold_to_a_rebuild
from tests.use.test_waiting import named

FILTER: Final[dict[str, Any]] = {"position": "particle-filter", "reason": "loading"}
TUBE: Final[dict[str, Any]] = {"position": "breathing-tube", "reason": "damage"}
FAILED: Final[dict[str, Any]] = {"signs": ["dropped"], "wearer": "p-1"}
HISTORIES: Final[dict[str, list[Posted]]] = {
    "a release that loses its ground leaves the unit in its hand": [
        register("2026-01-01 08:00"),
        tell("filter-replaced", "2026-01-05 09:00", in_=part("p3", lot="L-1"), **FILTER),
        issue("2026-01-06 08:00"),
        tell("quarantined", "2026-01-06 09:00", reason="damage", by="m-1"),
        check("2026-01-06 10:00"),
        examine("2026-01-06 14:00"),
        tell("released", "2026-01-06 15:00", by="rel-1"),
        tell("cleaned", "2026-01-06 17:00", scope="unit", method="wiped"),
        tell("failed-in-use", "2026-01-06 14:30", received="2026-01-06 18:00", **FAILED),
    ],
    "what is retired keeps the part it had": [
        register("2026-01-01 08:00"),
        issue("2026-01-06 08:00"),
        tell("filter-replaced", "2026-01-06 09:00", in_=part("p3", lot="L-1"), **FILTER),
        check("2026-01-06 10:00"),
        check("2026-01-06 11:00"),
        tell("filter-replaced", "2026-01-06 15:00", in_=part("p3", lot="L-2"), **FILTER),
        check("2026-01-06 17:00"),
        tell("retired", "2026-01-06 14:00", received="2026-01-07 08:00", reason="lost", by="m-1"),
    ],
    "a day alone that may end before the registration": [
        site("far", "uk", "Pacific/Pago_Pago"),
        register("2026-01-05 20:00"),
        tell("part-replaced", "2026-01-05", received="2026-01-07 08:00", site="far", in_=part("tube"), **TUBE),
    ],
    "a hand that had it for no time": [
        register("2026-01-01 20:00"),
        issue("2026-01-06 08:00"),
        tell("stationed", "2026-01-06 08:00", place="cab"),
    ],
    "bad news from before the registration, with its echo behind a mark": [
        register("2026-01-10 08:00"),
        *[check(f"2026-01-{day} 08:00") for day in (12, 13, 14)],
        tell("failed-in-use", "2026-01-05 08:00", received="2026-01-16 08:00", **FAILED),
        *[check(f"2026-01-{day} 08:00") for day in (17, 18)],
        tell("part-replaced", "2026-01-13 12:00", received="2026-01-19 08:00", **TUBE),
    ],
    "a part of the day of the registration, in the far east": [
        site("isle", "uk", "Pacific/Kiritimati"),
        register("2026-01-05", site="isle"),
        tell("part-replaced", "2026-01-05 20:00", received="2026-01-07 08:00", site="isle", in_=part("tube"), **TUBE),
    ],
    "a day without a site, long before what comes late": [
        register("2026-01-01 08:00"),
        tell("cleaned", "2026-01-03", scope="unit", method="wiped"),
        *[check(f"2026-01-{day} 08:00") for day in range(12, 19)],
        check("2026-01-15 12:00", received="2026-01-19 08:00"),
    ],
    "worn at the very moment at which an examination falls due": [
        register("2026-01-05 08:00"),
        examine("2026-01-05 09:00"),
        issue("2026-01-06 08:00"),
        check("2026-02-05 23:00"),
        wear("2026-02-06 00:00"),
    ],
}


@pytest.mark.parametrize("told", HISTORIES.values(), ids=HISTORIES.keys())
async def test_it_is_stored_as_a_rebuild_makes_it(
    told: list[Posted], ledger: Ledger, owner_url: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """With a mark wherever there may be one, of what comes late everything is derived as from the beginning."""
    monkeypatch.setattr(marking, "EVERY", 1)
    receipts = await post(ledger, named([*FIRM, *told]))
    assert {receipt.status for receipt in receipts} == {201}
    await hold_to_a_rebuild(owner_url)
