"""Examples about wrong clocks, late news and reports that could not be accepted."""

from datetime import UTC, datetime
from typing import Any

from tests.oracle.case import Case
from tests.oracle.firm import FIRM, check, examine, fails, issue, policy, register, site, tell, wear
from tests.oracle.posting import say
from tests.oracle.record import Report

HELD = [register(), examine("2026-02-27 10:00"), issue("2026-03-02 05:00")]
RELEASED = [
    *HELD,
    check("2026-03-02 06:00", points=fails("alarm")),
    examine("2026-03-02 07:00"),
    tell("released", "2026-03-02 08:00", by="rel-1"),
]

MESA = [
    register("2026-05-01 08:00", site="mesa"),
    examine("2026-05-02 08:00", site="mesa"),
    issue("2026-05-02 09:00", site="mesa"),
]


def at(*parts: int) -> datetime:
    """Give an instant in UTC."""
    return datetime(*parts, tzinfo=UTC)  # type: ignore[misc,arg-type] # as many as given


def unit(**fields: Any) -> dict[str, Any]:
    """Expect something of A-1."""
    return {"A-1": fields}


def late_failure(**fields: Any) -> Any:
    """Report the dead alarm of 06:30 at 12:00."""
    return check("2026-03-02 06:30", points=fails("alarm"), received="2026-03-02 12:00", **fields)


QUARANTINED = unit(phase="quarantined", do_not_use=True)
FREE = unit(phase="in-store", do_not_use=False)

CLOCKS = [
    Case(
        "wrong-clock-counts-again-at-receipt",
        "Rulings 8 and 9: bad news from a clock five minutes and more off counts at its stamp and again at receipt.",
        [*RELEASED, late_failure(sent="2026-03-02 11:54:59")],
        "2026-03-02 12:00",
        QUARANTINED,
    ),
    Case(
        "right-clock-counts-at-its-stamp-only",
        "Ruling 8: bad news from a clock within the tolerance counts at its stamp, before the examination after it.",
        [*RELEASED, late_failure(sent="2026-03-02 11:55:00")],
        "2026-03-02 12:00",
        FREE,
    ),
    Case(
        "clock-policy-widens-the-tolerance",
        "Ruling 8: the tolerance is a policy.",
        [*RELEASED, late_failure(sent="2026-03-02 11:50:00")],
        "2026-03-02 12:00",
        FREE,
        base=[*FIRM, policy("clock", {"tolerance": "PT15M"})],
    ),
    Case(
        "no-clock-late-and-overtaken",
        "Ruling 8: without a stated clock, over an hour late with good news in between, it counts again at receipt.",
        [*RELEASED, late_failure(sent=None)],
        "2026-03-02 12:00",
        QUARANTINED,
    ),
    Case(
        "no-clock-within-the-hour",
        "Ruling 8: within the hour it counts at its stamp only.",
        [
            *RELEASED,
            check("2026-03-02 06:30", points=fails("alarm"), received="2026-03-02 07:30", sent=None),
        ],
        "2026-03-02 12:00",
        FREE,
    ),
    Case(
        "import-is-never-suspect-for-lateness",
        "Ruling 8: an administrator's import is never suspect for lateness.",
        [*RELEASED, late_failure(sent=None, imported=True)],
        "2026-03-02 12:00",
        FREE,
    ),
    Case(
        "counter-contradicts-the-clock",
        "Ruling 8: another event of the device that contradicts the order of its counter makes the clock suspect.",
        [
            *RELEASED,
            tell("cleaned", "2026-03-02 06:40", scope="part", method="wiped", device="kiosk-1", device_seq=7),
            late_failure(device="kiosk-1", device_seq=8),
        ],
        "2026-03-02 12:00",
        QUARANTINED,
    ),
    Case(
        "counter-within-the-tolerance",
        "Ruling 8: a contradiction of no more than the tolerance is none.",
        [
            *RELEASED,
            tell("cleaned", "2026-03-02 06:35", scope="part", method="wiped", device="kiosk-1", device_seq=7),
            late_failure(device="kiosk-1", device_seq=8),
        ],
        "2026-03-02 12:00",
        FREE,
    ),
    Case(
        "bad-news-before-registration",
        "Ruling 8: bad news dated before the registration also counts at receipt.",
        [
            register(),
            check("2026-01-04 08:00", points=fails("alarm"), received="2026-01-06 08:00"),
            examine("2026-01-05 10:00"),
            tell("released", "2026-01-05 11:00", by="rel-1"),
        ],
        "2026-01-06 08:00",
        QUARANTINED,
    ),
    Case(
        "echo-is-the-same-failure",
        "Ruling 9: the echo is the same failure and does not make twice running.",
        [
            *HELD,
            check("2026-03-02 06:00", points=fails("filters"), received="2026-03-02 06:30", sent="2026-03-02 06:00"),
        ],
        "2026-03-02 06:30",
        unit(phase="issued", standing="do-not-use", reasons=["recheck"]),
    ),
    Case(
        "echo-opens-the-recheck-again",
        "Ruling 9: a check passed between stamp and receipt does not settle the echo.",
        [
            *HELD,
            check("2026-03-02 06:00", points=fails("filters"), received="2026-03-02 06:30", sent="2026-03-02 06:00"),
            check("2026-03-02 06:15"),
        ],
        "2026-03-02 06:30",
        unit(standing="do-not-use", reasons=["recheck"]),
    ),
    Case(
        "echo-not-yet-received",
        "Ruling 9: between stamp and receipt that passing check settles the failure.",
        [
            *HELD,
            check("2026-03-02 06:00", points=fails("filters"), received="2026-03-02 06:30", sent="2026-03-02 06:00"),
            check("2026-03-02 06:15"),
        ],
        "2026-03-02 06:29",
        unit(standing="in-date", reasons=[]),
    ),
    Case(
        "received-before-its-moment",
        "Design 3.6: by a clock that is fast, within the tolerance, a dead alarm is still to come: it counts at once.",
        [*HELD, check("2026-03-02 06:04", points=fails("alarm"), received="2026-03-02 06:00")],
        "2026-03-02 06:00",
        QUARANTINED,
    ),
    Case(
        "not-yet-received",
        "Design 3.1: nothing counts before it is received or was.",
        [
            *HELD,
            check("2026-03-02 06:00"),
            check("2026-03-02 06:04", points=fails("alarm"), received="2026-03-02 06:02"),
        ],
        "2026-03-02 06:01:59",
        unit(phase="issued", standing="in-date", reasons=[]),
    ),
    Case(
        "received-before-its-moment-is-the-same-failure",
        "Ruling 9: what counts at receipt and at its moment does not make twice running.",
        [*HELD, check("2026-03-02 06:04", points=fails("filters"), received="2026-03-02 06:00")],
        "2026-03-02 06:05",
        unit(phase="issued", standing="do-not-use", reasons=["recheck"]),
    ),
    Case(
        "received-before-its-moment-needs-ground-later-than-that",
        "Design 3.4: what proves it fit again must be later than the newest of the failure, which is its moment.",
        [
            *HELD,
            check("2026-03-02 06:04", points=fails("alarm"), received="2026-03-02 06:00"),
            examine("2026-03-02 06:03"),
            tell("released", "2026-03-02 06:05", by="rel-1", label="release"),
        ],
        "2026-03-02 07:00",
        QUARANTINED,
        conflicts={"release": ["released-without-ground"]},
    ),
    Case(
        "put-away-before-its-moment",
        "Ruling 9: received ahead, a quarantine takes effect; it puts nothing away until its moment.",
        [*HELD, tell("quarantined", "2026-03-02 06:04", received="2026-03-02 06:00", reason="damage", place="cage")],
        "2026-03-02 06:03",
        unit(phase="quarantined", put_away=None, do_not_use=True),
    ),
    Case(
        "good-news-waits-for-its-moment",
        "Design 3.6: good news counts at its moment alone.",
        [*HELD, check("2026-03-02 06:04", received="2026-03-02 06:00"), wear("2026-03-02 06:01")],
        "2026-03-02 06:02",
        unit(standing="overdue", reasons=["used-without-check"]),
    ),
    Case(
        "day-alone-that-begins-later-where-the-unit-is",
        "Design 3.6: a failure of a day alone, received before that began at the unit's site, counts at once.",
        [*MESA, tell("failed-in-use", "2026-05-10", received="2026-05-10 00:30", signs=["dropped"])],
        "2026-05-10 00:30",
        QUARANTINED,
    ),
    Case(
        "day-alone-counts-as-it-begins-too",
        "Design 3.1: it counts again as the day begins there: ground must be later than that.",
        [
            *MESA,
            tell("failed-in-use", "2026-05-10", received="2026-05-10 00:30", signs=["dropped"]),
            examine("2026-05-10 04:00", site="mesa"),
            tell("released", "2026-05-10 12:00", by="rel-1", label="release"),
        ],
        "2026-05-10 13:00",
        QUARANTINED,
        conflicts={"release": ["released-without-ground"]},
    ),
    Case(
        "day-alone-that-turns-out-to-begin-later",
        "Design 3.6: told of a unit in the east, which turns out to have been in the west, it counts at receipt.",
        [
            site("east", "uk", "Asia/Tokyo"),
            register("2026-05-01 08:00", site="east"),
            examine("2026-05-02 08:00", site="east"),
            issue("2026-05-02 09:00", site="east"),
            tell("failed-in-use", "2026-05-10", received="2026-05-09 23:50", signs=["dropped"]),
            issue("2026-05-09 20:00", received="2026-05-10 01:00", site="mesa"),
        ],
        "2026-05-10 01:00",
        QUARANTINED,
    ),
    Case(
        "authorisation-ended-by-a-fast-clock",
        "Design 3.6: who is no longer competent is not so from the receipt on.",
        [
            *HELD,
            check("2026-03-02 06:00", points=fails("alarm")),
            examine("2026-03-02 07:00"),
            say(
                "authorisation-ended",
                "2026-03-02 08:04",
                "m-1",
                received="2026-03-02 08:00",
                person="rel-1",
                of="release",
            ),
            tell("released", "2026-03-02 08:02", by="rel-1"),
        ],
        "2026-03-02 08:03",
        QUARANTINED,
    ),
    Case(
        "arrival-order-is-nothing",
        "Design 3.1: a check received late takes its place by its instant, before the failure after it.",
        [
            *HELD,
            check("2026-03-02 06:20", points=fails("filters")),
            check("2026-03-02 06:10", received="2026-03-02 06:50"),
            check("2026-03-02 06:00", points=fails("filters")),
        ],
        "2026-03-02 07:00",
        unit(phase="issued", reasons=["recheck"]),
    ),
    Case(
        "as-known-before-the-late-news",
        "Design 3.9: a late failure changes yesterday's answer, not what was known yesterday.",
        [*HELD, check("2026-03-02 06:00"), late_failure()],
        "2026-03-02 07:00",
        unit(phase="issued", standing="in-date"),
        known_after=4,
    ),
    Case(
        "as-known-with-the-late-news",
        "Design 3.9: known, it counts from its own instant.",
        [*HELD, check("2026-03-02 06:00"), late_failure()],
        "2026-03-02 07:00",
        QUARANTINED,
    ),
    Case(
        "unresolved-report",
        "Design 3.6: a report of a failure that could not be accepted makes the unit it names do-not-use.",
        HELD,
        "2026-03-02 09:00",
        unit(phase="issued", standing="do-not-use", reasons=["unresolved-report"]),
        reports=(Report("A-1", at(2026, 3, 2, 8)),),
    ),
    Case(
        "unresolved-report-in-store",
        "Ruling 10: in store the standing is out of scope, and do_not_use still speaks of the report.",
        [*HELD, tell("returned", "2026-03-02 07:00")],
        "2026-03-02 09:00",
        unit(phase="in-store", standing="out-of-scope", do_not_use=True, reasons=["unresolved-report"]),
        reports=(Report("A-1", at(2026, 3, 2, 8)),),
    ),
    Case(
        "settled-report",
        "Ruling 45: settled, it keeps its two clocks and speaks no more from then on.",
        HELD,
        "2026-03-02 09:00",
        unit(phase="issued", standing="in-date", reasons=[]),
        reports=(Report("A-1", at(2026, 3, 2, 8), at(2026, 3, 2, 9)),),
    ),
]
