"""Examples about where a unit is, and what its phase does to its standing."""

from typing import Any

from tests.oracle.case import Case
from tests.oracle.firm import FIRM, check, examine, fails, issue, policy, register, tell, wear
from tests.oracle.posting import say

NEW = [register(), examine("2026-02-27 10:00")]
HELD = [*NEW, issue("2026-03-02 05:00")]


def unit(**fields: Any) -> dict[str, Any]:
    """Expect something of A-1."""
    return {"A-1": fields}


def lead(*sites: str) -> dict[str, Any]:
    """Post with the key of a lead of some sites."""
    return {"key": "lead", "role": "site-lead", "sites": frozenset(sites)}


PHASE = [
    Case(
        "new-unit-is-in-store-and-out-of-scope",
        "Ruling 10: a unit in store is out of the rate; every rule is out of scope.",
        NEW,
        "2026-03-01 12:00",
        unit(
            phase="in-store",
            in_scope=False,
            standing="out-of-scope",
            do_not_use=False,
            rules={"thorough-examination": {"standing": "out-of-scope"}},
            ready_to_issue={"ready": True, "reasons": []},
        ),
    ),
    Case(
        "policy-may-add-the-store",
        "Design 4: a policy may add units in store to the rate.",
        NEW,
        "2026-03-01 12:00",
        unit(phase="in-store", in_scope=True, standing="in-date"),
        base=[*FIRM, policy("scope", {"in_store": True})],
    ),
    Case(
        "store-says-what-would-stand-against-issue",
        "Ruling 10: what a unit in store would be on issue stands in ready_to_issue.",
        [register(), examine("2026-01-10 10:00")],
        "2026-03-01 12:00",
        unit(
            standing="out-of-scope",
            do_not_use=False,
            ready_to_issue={"ready": False, "reasons": ["thorough-examination"]},
        ),
    ),
    Case(
        "issuing-what-is-not-ready",
        "Ruling 14: issuing a unit that is not ready is a conflict, and is believed.",
        [register(), examine("2026-01-10 10:00"), issue("2026-03-01 12:00", label="issue")],
        "2026-03-01 12:00",
        unit(phase="issued", standing="overdue"),
        conflicts={"issue": ["not-ready-to-issue"]},
    ),
    Case(
        "ordered-is-not-put-away",
        "Design 3.5: a unit quarantined from a desk stays in the numbers, with its holder and last wearer.",
        [
            *HELD,
            check("2026-03-02 06:00"),
            wear("2026-03-02 07:00"),
            tell("quarantined", "2026-03-02 08:00", reason="suspect"),
        ],
        "2026-03-02 09:00",
        unit(
            phase="quarantined",
            in_scope=True,
            standing="do-not-use",
            put_away=None,
            holder={"person": "p-1"},
            last_wearer={"person": "p-1", "at": "2026-03-02T07:00:00Z"},
        ),
    ),
    Case(
        "put-away-by-a-place",
        "Ruling 10: put away, it is out of the rate, do_not_use stays true, with the reason withdrawal.",
        [
            *HELD,
            tell("quarantined", "2026-03-02 08:00", reason="suspect"),
            tell("quarantined", "2026-03-02 09:00", reason="suspect", place="cage"),
        ],
        "2026-03-02 09:00",
        unit(
            phase="quarantined",
            in_scope=False,
            standing="out-of-scope",
            do_not_use=True,
            reasons=["withdrawal"],
            put_away="2026-03-02T09:00:00Z",
            holder=None,
            place="cage",
        ),
    ),
    Case(
        "put-away-by-a-return",
        "Design 3.5: a return puts it away too.",
        [*HELD, tell("quarantined", "2026-03-02 08:00", reason="suspect"), tell("returned", "2026-03-02 10:00")],
        "2026-03-02 10:00",
        unit(phase="quarantined", in_scope=False, put_away="2026-03-02T10:00:00Z"),
    ),
    Case(
        "withdrawn-in-store-is-put-away-at-once",
        "Ruling 10: withdrawn while in store means put away at once.",
        [*NEW, tell("quarantined", "2026-03-02 08:00", reason="suspect")],
        "2026-03-02 08:00",
        unit(phase="quarantined", in_scope=False, put_away="2026-03-02T08:00:00Z"),
    ),
    Case(
        "issued-while-quarantined",
        "Ruling 11: an issue while quarantined changes the holder, neither phase nor standing, and ends put-away.",
        [*NEW, tell("quarantined", "2026-03-02 08:00", reason="suspect"), issue("2026-03-02 09:00", label="issue")],
        "2026-03-02 09:00",
        unit(phase="quarantined", in_scope=True, standing="do-not-use", holder={"person": "p-1"}, put_away=None),
        conflicts={"issue": ["issued-while-quarantined", "not-ready-to-issue"]},
    ),
    Case(
        "worn-while-quarantined",
        "Ruling 53: wearing a quarantined unit is a conflict; ruling 11: it changes no phase.",
        [*HELD, tell("quarantined", "2026-03-02 08:00", reason="suspect"), wear("2026-03-02 09:00", label="wear")],
        "2026-03-02 09:00",
        unit(phase="quarantined", standing="do-not-use", reasons=["used-without-check", "withdrawal"]),
        conflicts={"wear": ["worn-while-quarantined"]},
    ),
    Case(
        "moved-is-in-transit-with-the-old-site",
        "Ruling 12: moved is in transit, still with the old site, beside its rate, in nobody's hands.",
        [*HELD, tell("moved", "2026-03-02 08:00", to_site="mesa")],
        "2026-03-02 08:00",
        unit(phase="in-transit", site="dock", in_scope=False, holder=None, do_not_use=False),
    ),
    Case(
        "received-at-the-new-site",
        "Ruling 12: received, it belongs to the new site, in store.",
        [*HELD, tell("moved", "2026-03-02 08:00", to_site="mesa"), tell("received", "2026-03-04 08:00", site="mesa")],
        "2026-03-04 08:00",
        unit(phase="in-store", site="mesa", holder=None),
    ),
    Case(
        "received-without-move",
        "Ruling 53: received without moved is a conflict, and is believed.",
        [*HELD, tell("received", "2026-03-04 08:00", site="mesa", label="receipt")],
        "2026-03-04 08:00",
        unit(phase="in-store", site="mesa"),
        conflicts={"receipt": ["received-without-move"]},
    ),
    Case(
        "issued-elsewhere-without-receipt",
        "Ruling 12: issued elsewhere without received is a conflict, and the site changes.",
        [
            *NEW,
            tell("moved", "2026-03-02 08:00", to_site="mesa"),
            issue("2026-03-03 15:00", site="mesa", label="issue"),
        ],
        "2026-03-03 15:00",
        unit(phase="issued", site="mesa", in_scope=True),
        conflicts={"issue": ["not-received"]},
    ),
    Case(
        "handled-elsewhere-without-receipt",
        "Rulings 12 and 41: whatever is done by hand at another site is a conflict; a desk may be anywhere.",
        [
            *HELD,
            tell("cleaned", "2026-03-02 06:00", site="mesa", scope="unit", method="wiped", label="clean"),
            check("2026-03-02 07:00", site="mesa", label="check"),
            wear("2026-03-02 08:00", site="mesa", label="worn"),
            examine("2026-03-02 09:00", site="mesa", label="exam"),
            tell("moved", "2026-03-02 10:00", site="mesa", to_site="works", label="move"),
            tell("quarantined", "2026-03-02 11:00", site="mesa", reason="suspect", label="order"),
            tell("quarantined", "2026-03-02 12:00", site="mesa", reason="suspect", place="cage", label="put"),
            tell("received", "2026-03-02 13:00", site="mesa", label="receipt"),
            check("2026-03-02 14:00", site="mesa", label="there"),
        ],
        "2026-03-02 14:00",
        unit(phase="quarantined", site="mesa"),
        conflicts={
            "clean": ["not-received"],
            "check": ["not-received"],
            "worn": ["not-received"],
            "exam": ["not-received"],
            "move": ["not-received"],
            "order": [],
            "put": ["not-received"],
            "receipt": [],
            "there": [],
        },
    ),
    *[
        Case(
            f"{kind}-by-another-site",
            "Ruling 37: a site lead disposes of the units of its sites; it counts for another's, and is a conflict.",
            [
                *HELD,
                tell(kind, "2026-03-02 09:00", label="act", **lead("mesa"), **fields),
            ],
            "2026-03-02 09:00",
            {tag: {"site": "dock", "phase": found}},
            conflicts={"act": ["unit-of-another-site"]},
        )
        for kind, tag, found, fields in [
            ("retired", "A-1", "retired", {"reason": "worn-out"}),
            ("retagged", "A-2", "issued", {"new_tag": "A-2"}),
            ("use-set", "A-1", "issued", {"use": "emergency", "authorised_by": "m-1"}),
            ("released", "A-1", "issued", {"by": "rel-1"}),
        ]
    ],
    Case(
        "disposed-of-by-its-own-site",
        "Ruling 37: a key bound to several sites leads each of them, and a key bound to none leads all.",
        [
            *HELD,
            tell("use-set", "2026-03-02 08:00", use="escape", authorised_by="m-1", label="one", **lead("mesa", "dock")),
            tell("retired", "2026-03-02 09:00", label="two", reason="worn-out"),
        ],
        "2026-03-02 09:00",
        unit(phase="retired", site="dock"),
        conflicts={"one": [], "two": []},
    ),
    Case(
        "received-with-a-reason-held",
        "Ruling 10: received with a reason held, it is put away at once.",
        [
            *HELD,
            check("2026-03-02 06:00", points=fails("alarm")),
            tell("moved", "2026-03-02 08:00", to_site="mesa"),
            tell("received", "2026-03-04 08:00", site="mesa"),
        ],
        "2026-03-04 08:00",
        unit(phase="quarantined", site="mesa", put_away="2026-03-04T08:00:00Z", in_scope=False, do_not_use=True),
    ),
    Case(
        "transit-hides-the-quarantine-but-not-the-reason",
        "Ruling 42: in transit comes before quarantined; ruling 10: do_not_use still speaks of the reason held.",
        [*HELD, check("2026-03-02 06:00", points=fails("alarm")), tell("moved", "2026-03-02 08:00", to_site="mesa")],
        "2026-03-02 08:00",
        unit(phase="in-transit", in_scope=False, do_not_use=True, reasons=["withdrawal"]),
    ),
    Case(
        "at-service",
        "Ruling 10: a unit at service is out of the rate and do_not_use, reason at-service.",
        [*HELD, tell("sent-to-service", "2026-03-02 08:00", provider="maker")],
        "2026-03-02 08:00",
        unit(phase="at-service", in_scope=False, standing="out-of-scope", do_not_use=True, reasons=["at-service"]),
    ),
    Case(
        "service-ends-with-a-return",
        "Ruling 42: service ends with returned, which is no conflict then.",
        [
            *HELD,
            tell("sent-to-service", "2026-03-02 08:00", provider="maker"),
            tell("returned", "2026-03-20 08:00", label="return"),
        ],
        "2026-03-20 08:00",
        unit(phase="in-store", do_not_use=False),
        conflicts={"return": []},
    ),
    Case(
        "service-ends-with-a-believed-issue",
        "Ruling 42: service ends with an issue, which is believed though it is a conflict.",
        [
            *HELD,
            tell("sent-to-service", "2026-03-02 08:00", provider="maker"),
            issue("2026-03-20 08:00", label="issue"),
        ],
        "2026-03-20 08:00",
        unit(phase="issued", in_scope=True),
        conflicts={"issue": ["issued-while-at-service", "not-ready-to-issue"]},
    ),
    Case(
        "returned-by-no-holder",
        "Ruling 53: a return by no holder is a conflict.",
        [*NEW, tell("returned", "2026-03-02 08:00", label="return")],
        "2026-03-02 08:00",
        unit(phase="in-store"),
        conflicts={"return": ["returned-without-holder"]},
    ),
    Case(
        "missing",
        "Ruling 10: a missing unit is beside the rate and do_not_use, reason missing; its last holder stays known.",
        [*HELD, tell("missing", "2026-03-02 08:00", last_place="bay-4")],
        "2026-03-02 08:00",
        unit(
            phase="missing",
            in_scope=False,
            do_not_use=True,
            reasons=["missing"],
            place="bay-4",
            holder={"person": "p-1"},
        ),
    ),
    Case(
        "found-is-quarantined",
        "Design 3.4: found leads to quarantined, put away at once.",
        [*HELD, tell("missing", "2026-03-02 08:00"), tell("found", "2026-03-04 08:00", place="bay-4")],
        "2026-03-04 08:00",
        unit(phase="quarantined", in_scope=False, do_not_use=True, put_away="2026-03-04T08:00:00Z", holder=None),
    ),
    Case(
        "seen-while-missing-is-found",
        "Ruling 41: seen while missing means found.",
        [*HELD, tell("missing", "2026-03-02 08:00"), check("2026-03-04 08:00")],
        "2026-03-04 08:00",
        unit(phase="quarantined", put_away="2026-03-04T08:00:00Z", reasons=["withdrawal"]),
    ),
    Case(
        "issued-while-missing",
        "Rulings 11, 41 and 53: an issue while missing finds the unit, in its new holder's hands; a conflict.",
        [*HELD, tell("missing", "2026-03-02 08:00"), issue("2026-03-04 08:00", "p-2", label="issue")],
        "2026-03-04 08:00",
        unit(phase="quarantined", in_scope=True, put_away=None, holder={"person": "p-2"}),
        conflicts={"issue": ["issued-while-missing", "not-ready-to-issue"]},
    ),
    Case(
        "found-needs-an-examination",
        "Ruling 25: found is cleared by a passing examination.",
        [
            *HELD,
            tell("missing", "2026-03-02 08:00"),
            tell("found", "2026-03-04 08:00"),
            examine("2026-03-04 09:00"),
            tell("released", "2026-03-04 10:00", by="rel-1"),
        ],
        "2026-03-04 10:00",
        unit(phase="in-store", do_not_use=False),
    ),
    Case(
        "retired-is-final",
        "Ruling 41: after retired nothing changes; what is posted still is a conflict.",
        [
            *HELD,
            tell("retired", "2026-03-02 08:00", reason="worn-out"),
            issue("2026-03-03 08:00", label="issue"),
            check("2026-03-03 09:00", label="check"),
            tell("cleaned", "2026-03-03 10:00", scope="unit", method="wiped", label="clean"),
        ],
        "2026-03-03 10:00",
        unit(phase="retired", in_scope=False, do_not_use=True, reasons=["retired"]),
        conflicts={
            "issue": ["issued-while-retired", "not-ready-to-issue"],
            "check": ["checked-while-retired"],
            "clean": ["while-retired"],
        },
    ),
    Case(
        "voided-retirement",
        "Ruling 41: voiding the retirement brings the unit back as it was.",
        [
            *HELD,
            tell("retired", "2026-03-02 08:00", reason="worn-out", label="retire"),
            say("voided", "2026-03-03 08:00", "m-1", event="@retire", reason="wrong unit"),
        ],
        "2026-03-03 10:00",
        unit(phase="issued", in_scope=True),
    ),
    Case(
        "stationed",
        "Design 2: stationed is at an emergency or standby point, in the rate.",
        [*NEW, tell("stationed", "2026-03-01 10:00", place="cab-1")],
        "2026-03-01 10:00",
        unit(phase="stationed", in_scope=True, place="cab-1", holder=None, standing="in-date"),
    ),
    Case(
        "not-registered-yet",
        "Design 3.9: before its registration the unit is not shown.",
        [*NEW],
        "2026-01-05 07:59",
        {},
    ),
    Case(
        "voided-missing-stays-missing",
        "Ruling 43: voided bad news stays in the fold; a missing unit comes back by being found.",
        [
            *HELD,
            tell("missing", "2026-03-02 08:00", label="lost"),
            say("voided", "2026-03-02 09:00", "m-1", event="@lost", reason="wrong unit", key="desk"),
        ],
        "2026-03-02 10:00",
        unit(phase="missing", do_not_use=True),
    ),
    Case(
        "stationing-ends-put-away",
        "Ruling 41: a stationing is believed though the unit is quarantined, and brings it into the rate, barred.",
        [
            *NEW,
            tell("quarantined", "2026-03-02 08:00", reason="suspect"),
            tell("stationed", "2026-03-02 09:00", place="cab-1"),
        ],
        "2026-03-02 09:00",
        unit(phase="quarantined", in_scope=True, standing="do-not-use", put_away=None, place="cab-1"),
    ),
    Case(
        "transit-ends-with-found",
        "Ruling 42: a unit missed in transit and found is quarantined, no longer in transit.",
        [
            *HELD,
            tell("moved", "2026-03-02 08:00", to_site="mesa"),
            tell("missing", "2026-03-03 08:00"),
            tell("found", "2026-03-04 08:00", site="works", place="bay-4"),
        ],
        "2026-03-04 08:00",
        unit(phase="quarantined", site="works", put_away="2026-03-04T08:00:00Z"),
    ),
    Case(
        "echo-of-a-quarantine-puts-nothing-away",
        "Ruling 9: the echo repeats the reason; it does not take the unit out of the hands it came into since.",
        [
            *HELD,
            tell(
                "quarantined",
                "2026-03-02 08:00",
                reason="suspect",
                place="cage",
                received="2026-03-02 12:00",
                sent=None,
            ),
            issue("2026-03-02 10:00", "p-2"),
        ],
        "2026-03-02 12:00",
        unit(phase="quarantined", in_scope=True, holder={"person": "p-2"}, put_away=None),
    ),
    Case(
        "echo-of-missing-is-missing-again",
        "Ruling 9: a suspect report of a missing unit counts again at receipt, past a check in between.",
        [*HELD, tell("missing", "2026-03-02 08:00", received="2026-03-02 12:00", sent=None), check("2026-03-02 10:00")],
        "2026-03-02 12:00",
        unit(phase="missing", do_not_use=True, reasons=["missing", "withdrawal"]),
    ),
    Case(
        "returned-from-its-point",
        "Ruling 53: a stationed unit has no holder, yet its return is no conflict.",
        [
            *NEW,
            tell("stationed", "2026-03-01 10:00", place="cab-1"),
            tell("returned", "2026-03-02 08:00", label="return"),
        ],
        "2026-03-02 08:00",
        unit(phase="in-store"),
        conflicts={"return": []},
    ),
    Case(
        "bad-news-after-retirement-is-nothing",
        "Ruling 41: after retired nothing changes, bad news included; it is a conflict.",
        [
            *HELD,
            tell("retired", "2026-03-02 08:00", reason="obsolete"),
            tell("failed-in-use", "2026-03-02 09:00", signs=["dropped"], label="late"),
        ],
        "2026-03-02 10:00",
        unit(phase="retired", reasons=["retired"]),
        conflicts={"late": ["while-retired"]},
    ),
]
