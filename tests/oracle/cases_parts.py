"""Examples about filters, batteries and listed parts."""

from typing import Any

from tests.oracle.case import Case
from tests.oracle.firm import MASK_PASSES, check, examine, issue, part, register, tell, wear

FILTER, POWER, LISTED = "filter-life", "power", "listed-parts"
HELD = [register(), examine("2026-02-27 10:00"), issue("2026-03-02 05:00")]
MASKED = [
    register(model="mask"),
    examine("2026-02-27 10:00", points=MASK_PASSES, airflow_lpm=None),
    issue("2026-03-02 05:00"),
]


def fit(at: str, item: str, position: str = "particle-filter", **fields: Any) -> Any:
    """Replace a filter."""
    return tell("filter-replaced", at, position=position, in_=part(item, **fields), reason="schedule")


def rule(name: str, standing: str, *reasons: str) -> dict[str, Any]:
    """Expect a standing of A-1 under a rule."""
    return {"A-1": {"rules": {name: {"standing": standing, "reasons": list(reasons)}}}}


PARTS = [
    Case(
        "month-of-expiry-means-its-last-day",
        "Ruling 4: a filter that expires in 2026-03 may be used to the end of 31 March (23:00 UTC in summer time).",
        [*HELD, fit("2026-03-02 06:00", "p3", expires="2026-03")],
        "2026-03-31 22:59",
        rule(FILTER, "due-soon"),
    ),
    Case(
        "passed-shelf-life-is-do-not-use",
        "Ruling 23: a passed shelf life is do-not-use.",
        [*HELD, fit("2026-03-02 06:00", "p3", expires="2026-03")],
        "2026-03-31 23:00",
        rule(FILTER, "do-not-use", "expired"),
    ),
    Case(
        "loading-at-the-change-mark",
        "Ruling 23: loading at the model's change mark is overdue.",
        [*HELD, check("2026-03-02 06:00", filter_loading=4)],
        "2026-03-02 06:00",
        rule(FILTER, "overdue", "loading"),
    ),
    Case(
        "loading-under-the-change-mark",
        "Ruling 23: loading under it is in date.",
        [*HELD, check("2026-03-02 06:00", filter_loading=3)],
        "2026-03-02 06:00",
        rule(FILTER, "in-date"),
    ),
    Case(
        "new-filter-has-no-loading",
        "Ruling 23: a replaced filter leaves the old reading behind.",
        [*HELD, check("2026-03-02 06:00", filter_loading=5), fit("2026-03-02 07:00", "p3")],
        "2026-03-02 07:00",
        rule(FILTER, "in-date"),
    ),
    Case(
        "loading-by-position",
        "Ruling 52: an object of levels speaks of the positions it names.",
        [*HELD, check("2026-03-02 06:00", filter_loading={"pre-filter": 4, "particle-filter": 1})],
        "2026-03-02 06:00",
        rule(FILTER, "overdue", "loading"),
    ),
    Case(
        "service-limit-in-days",
        "Ruling 23: a filter past its service limit is overdue; thirty days from 2 March last to the end of 1 April.",
        [*MASKED, fit("2026-03-02 06:00", "abek-30", "gas-filter")],
        "2026-04-01 23:00",
        rule(FILTER, "overdue", "service-limit"),
    ),
    Case(
        "service-limit-in-days-not-reached",
        "Ruling 4: the last day of the limit belongs to it.",
        [*MASKED, fit("2026-03-02 06:00", "abek-30", "gas-filter")],
        "2026-04-01 22:59",
        rule(FILTER, "due-soon"),
    ),
    Case(
        "single-shift-filter",
        "Ruling 23: a filter for one shift is overdue at its second use.",
        [*HELD, fit("2026-03-02 06:00", "p3-shift"), wear("2026-03-02 08:00"), wear("2026-03-03 08:00")],
        "2026-03-03 08:00",
        rule(FILTER, "overdue", "service-limit"),
    ),
    Case(
        "filter-reaches-its-hours",
        "Ruling 23: ten hours of wear reach a limit of ten hours: four on Monday, and 14:00 on Tuesday after six more.",
        [
            *HELD,
            fit("2026-03-02 06:00", "p3-hours"),
            wear("2026-03-02 08:00", until="2026-03-02T12:00:00+00:00"),
            wear("2026-03-03 08:00", until="2026-03-03T16:00:00+00:00"),
        ],
        "2026-03-03 14:00",
        rule(FILTER, "overdue", "service-limit"),
    ),
    Case(
        "filter-before-its-hours",
        "Ruling 23: a minute earlier it is in date.",
        [
            *HELD,
            fit("2026-03-02 06:00", "p3-hours"),
            wear("2026-03-02 08:00", until="2026-03-02T12:00:00+00:00"),
            wear("2026-03-03 08:00", until="2026-03-03T16:00:00+00:00"),
        ],
        "2026-03-03 13:59",
        rule(FILTER, "in-date"),
    ),
    Case(
        "sealed-gas-filter-is-opened-by-its-first-use",
        "Ruling 23: a gas filter without any schedule is do-not-use from its opening, the first use after fitting.",
        [*MASKED, fit("2026-03-02 06:00", "abek", "gas-filter"), wear("2026-03-04 08:00")],
        "2026-03-04 08:00",
        rule(FILTER, "do-not-use", "no-schedule"),
    ),
    Case(
        "sealed-gas-filter-before-its-first-use",
        "Ruling 23: until then it is in date.",
        [*MASKED, fit("2026-03-02 06:00", "abek", "gas-filter"), wear("2026-03-04 08:00")],
        "2026-03-04 07:59",
        rule(FILTER, "in-date"),
    ),
    Case(
        "time-since-opening",
        "Ruling 23: ten days after its opening on 4 March such a filter is overdue, from the end of the 14th.",
        [*MASKED, fit("2026-03-02 06:00", "abek-open", "gas-filter"), wear("2026-03-04 08:00")],
        "2026-03-15 00:00",
        rule(FILTER, "overdue", "service-limit"),
    ),
    Case(
        "no-filter-position-nothing-to-judge",
        "Ruling 33: a model without a filter position has nothing to judge, and that never puts the unit out of scope.",
        [register(model="bare"), issue("2026-03-02 05:00")],
        "2026-03-02 06:00",
        {
            "A-1": {
                "in_scope": True,
                "standing": "in-date",
                "rules": {
                    FILTER: {"standing": "out-of-scope"},
                    POWER: {"standing": "out-of-scope"},
                    LISTED: {"standing": "out-of-scope"},
                },
            }
        },
    ),
    Case(
        "charge-unknown-after-a-swap",
        "Ruling 23: after a battery swap the charge is unknown, overdue, until it is read.",
        [*HELD, tell("part-replaced", "2026-03-02 06:00", position="battery", in_=part("cell"), reason="other")],
        "2026-03-02 06:00",
        rule(POWER, "overdue", "charge-unknown"),
    ),
    Case(
        "charge-read-after-a-swap",
        "Ruling 23: a reading settles it.",
        [
            *HELD,
            tell("part-replaced", "2026-03-02 06:00", position="battery", in_=part("cell"), reason="other"),
            check("2026-03-02 06:05", battery_percent=90),
        ],
        "2026-03-02 06:05",
        rule(POWER, "in-date"),
    ),
    Case(
        "charge-at-the-low-mark-is-enough",
        "Ruling 23: only charge below the low mark is too low.",
        [*HELD, check("2026-03-02 06:00", battery_percent=20)],
        "2026-03-02 06:00",
        {"A-1": {"standing": "in-date", "reasons": []}},
    ),
    Case(
        "capacity-under-end-of-life",
        "Ruling 52: capacity_percent is the battery's measured capacity; under the model's end of life it is overdue.",
        [*HELD, check("2026-03-02 06:00", capacity_percent=79)],
        "2026-03-02 06:00",
        rule(POWER, "overdue", "capacity-low"),
    ),
    Case(
        "capacity-at-end-of-life",
        "Ruling 23: capacity exactly at it is in date.",
        [*HELD, check("2026-03-02 06:00", capacity_percent=80)],
        "2026-03-02 06:00",
        rule(POWER, "in-date"),
    ),
    Case(
        "unlisted-part",
        "Design 4: a part that is not listed for the model is do-not-use.",
        [*HELD, fit("2026-03-02 06:00", "abek")],
        "2026-03-02 06:00",
        rule(LISTED, "do-not-use", "unlisted-part"),
    ),
    Case(
        "required-position-emptied",
        "Design 4: a required position that was emptied is do-not-use.",
        [*HELD, tell("part-replaced", "2026-03-02 06:00", position="breathing-tube", reason="damage")],
        "2026-03-02 06:00",
        rule(LISTED, "do-not-use", "missing-part"),
    ),
    Case(
        "optional-position-emptied",
        "Design 4: a position that may be empty may be emptied.",
        [*HELD, tell("part-replaced", "2026-03-02 06:00", position="pre-filter", reason="other")],
        "2026-03-02 06:00",
        rule(LISTED, "in-date"),
    ),
    Case(
        "identified-part",
        "Design 3: a part identified later is judged as what it is, from when it was fitted.",
        [
            *HELD,
            fit("2026-03-02 06:00", "p3"),
            tell("part-identified", "2026-03-03 06:00", position="particle-filter", part=part("p3", lot="L-9")),
        ],
        "2026-03-03 06:00",
        {
            "A-1": {
                "parts": [
                    {"position": "particle-filter", "item": "p3", "lot": "L-9", "fitted_at": "2026-03-02T06:00:00Z"},
                ]
            }
        },
    ),
    Case(
        "a-components-condition-counts-for-its-unit",
        "Ruling 51: a battery with a tag of its own is no unit in rates; its failure counts for the unit it sits in.",
        [
            *HELD,
            register("2026-03-02 05:00", "B-1", model="pack", fitted_to="A-1"),
            tell("failed-in-use", "2026-03-02 06:00", "B-1", signs=["battery-swollen"]),
        ],
        "2026-03-02 06:00",
        {
            "A-1": {"phase": "issued", "standing": "do-not-use", "reasons": ["withdrawal"]},
            "B-1": {"in_scope": False, "standing": "out-of-scope", "do_not_use": True, "phase": "quarantined"},
        },
    ),
    Case(
        "a-component-taken-out-speaks-no-more",
        "Ruling 51: taken out of the unit, it no longer speaks for it.",
        [
            *HELD,
            register("2026-03-02 05:00", "B-1", model="pack", fitted_to="A-1"),
            tell("failed-in-use", "2026-03-02 06:00", "B-1", signs=["battery-swollen"]),
            tell(
                "part-replaced",
                "2026-03-02 07:00",
                position="battery",
                in_=part("cell"),
                out={"serial": "s-b-1 "},
                reason="damage",
            ),
            check("2026-03-02 07:10", battery_percent=90),
        ],
        "2026-03-02 07:10",
        {"A-1": {"phase": "issued", "standing": "in-date", "reasons": []}},
    ),
]
