from typing import Any

import msgspec
import pytest

from service.domain.view import at_moment, shown
from tests.domain.folding import Folding
from tests.domain.units import at
from tests.oracle.firm import FIRM, check, examine, issue, part, register, tell, wear
from tests.oracle.posting import Posted, log

BEGUN = [register(), examine("2026-02-27 10:00")]
BATTERY = part("cell", lot="L7", serial="C-1")


def seen(posted: list[Posted], hours: float) -> dict[str, Any]:
    """Show the unit so many hours after noon of Monday 2 March, as JSON."""
    folding = Folding(log([*FIRM, *posted]), [])
    [unit] = folding.prepared.units
    moment = at_moment(unit.start, unit.facts, at(hours), folding.world)
    told: dict[str, Any] = msgspec.json.decode(msgspec.json.encode(shown(moment)))
    return told


def test_a_unit_in_issue_is_shown_with_all_that_is_known() -> None:
    """Its identity, where and with whom it is, its standing and why."""
    told = seen([*BEGUN, issue(at(0).isoformat()), wear(at(1).isoformat())], 2)
    rules = told.pop("rules")
    assert told == {
        "tag": "A-1",
        "model": "hood",
        "serial": "S-A-1",
        "site": "dock",
        "use": "routine",
        "phase": "issued",
        "place": None,
        "holder": {"person": "p-1"},
        "last_wearer": {"person": "p-1", "at": "2026-03-02T13:00:00Z"},
        "put_away": None,
        "in_scope": True,
        "standing": "overdue",
        "do_not_use": True,
        "reasons": ["used-without-check"],
        "ready_to_issue": {"ready": True, "reasons": []},
        "parts": [],
    }
    assert rules["pre-use-check"]["standing"] == "overdue"
    assert rules["pre-use-check"]["reasons"] == ["used-without-check"]
    assert rules["thorough-examination"] == {
        "standing": "in-date",
        "reasons": [],
        "due": "2026-03-27",
        "source": rules["thorough-examination"]["source"],
    }
    assert rules["thorough-examination"]["source"]["clause"].startswith("COSHH 2002 reg 9(3)")
    assert list(rules) == [
        "thorough-examination", "pre-use-check", "cleaning", "filter-life", "power", "withdrawal", "listed-parts",
        "recall",
    ]  # fmt: skip


def test_out_of_scope_every_rule_is_but_what_is_known_is_still_told() -> None:
    """In store nothing is judged; the next due date and the cover are told."""
    rules = seen(BEGUN, 0)["rules"]
    assert {rule["standing"] for rule in rules.values()} == {"out-of-scope"}
    assert rules["thorough-examination"]["due"] == "2026-03-27"
    assert rules["pre-use-check"]["check_needed"] is True
    assert "source" not in rules["cleaning"]


def test_a_warning_has_no_reasons() -> None:
    """Due soon says when, not why not."""
    told = seen([*BEGUN, issue(at(0).isoformat())], 24 * 20)
    assert (told["standing"], told["rules"]["thorough-examination"]["reasons"]) == ("due-soon", [])


@pytest.mark.parametrize(
    ("posted", "hours", "expected"),
    [
        ([], 1, (None, None, True)),
        ([check(at(0).isoformat())], 1, ("2026-03-03T00:00:00Z", "p-1", False)),
        ([check(at(0).isoformat())], 12, (None, None, True)),
        ([check(at(0).isoformat()), issue(at(0.5).isoformat(), "p-1")], 1, ("2026-03-03T00:00:00Z", "p-1", False)),
        ([issue(at(-1).isoformat(), "p-2"), check(at(0).isoformat())], 1, ("2026-03-03T00:00:00Z", "p-1", True)),
        (
            [issue(at(-1).isoformat(), holder={"crew": "c-1"}), check(at(0).isoformat())],
            1,
            ("2026-03-03T00:00:00Z", "p-1", False),
        ),
        (
            [
                check(at(0).isoformat()),
                tell("part-replaced", at(0.5).isoformat(), position="battery", in_=BATTERY, reason="schedule"),
            ],
            1,
            (None, None, True),
        ),
    ],
)
def test_the_cover_and_whether_a_check_is_needed_are_told(
    posted: list[Posted], hours: float, expected: tuple[str | None, str | None, bool]
) -> None:
    """For whom and until when; a check is needed without a cover, or with one for another than who holds it (R17)."""
    rule = seen([*BEGUN, *posted], hours)["rules"]["pre-use-check"]
    assert (rule["cover_until"], rule["covered_wearer"], rule["check_needed"]) == expected


def test_parts_are_shown_by_position_where_one_is_fitted() -> None:
    """An emptied position shows none."""
    swaps = [
        tell("part-replaced", at(1).isoformat(), position="pre-filter", in_=part("pre"), reason="schedule"),
        tell("part-replaced", at(0).isoformat(), position="battery", in_=BATTERY, reason="schedule"),
        tell("part-replaced", at(0).isoformat(), position="breathing-tube", reason="damage"),
    ]
    common = {"lot": None, "serial": None, "expected_change": None}
    assert seen([*BEGUN, *swaps], 2)["parts"] == [
        {"position": "battery", "item": "cell", "lot": "L7", "serial": "C-1", "fitted_at": "2026-03-02T12:00:00Z",
         "expected_change": None},
        {"position": "pre-filter", "item": "pre", "fitted_at": "2026-03-02T13:00:00Z"} | common,
    ]  # fmt: skip


def test_a_unit_is_shown_as_it_was_at_the_moment() -> None:
    """What happened at the moment counts, what came later does not."""
    told = [*BEGUN, issue(at(1).isoformat()), tell("returned", at(3).isoformat())]
    assert [seen(told, hours)["phase"] for hours in (0.99, 1, 2.99, 3)] == ["in-store", "issued", "issued", "in-store"]


def test_put_away_is_told_since_when() -> None:
    """While it is withdrawn and in nobody's hands."""
    told = [*BEGUN, tell("quarantined", at(1).isoformat(), reason="damage", place="cage")]
    assert (seen(told, 2)["put_away"], seen(told, 2)["place"]) == ("2026-03-02T13:00:00Z", "cage")


def test_ready_to_issue_gives_its_reasons() -> None:
    """What would be said if it were issued now."""
    told = [*BEGUN, tell("quarantined", at(1).isoformat(), reason="damage", place="cage")]
    assert seen(told, 2)["ready_to_issue"] == {"ready": False, "reasons": ["withdrawal"]}
