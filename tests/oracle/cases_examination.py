"""Examples about the thorough examination."""

from typing import Any

from tests.oracle.case import Case
from tests.oracle.firm import (
    FIRM,
    MASK_PASSES,
    PASSES,
    examine,
    fails,
    issue,
    policy,
    register,
    tell,
)
from tests.oracle.posting import say

THOROUGH = "thorough-examination"
OUT = {"standing": "out-of-scope"}


def rule(standing: str, due: str | None = None, *reasons: str) -> dict[str, Any]:
    """Expect a standing of A-1 under the rule."""
    return {"A-1": {"rules": {THOROUGH: {"standing": standing, "due": due, "reasons": list(reasons)}}}}


BEGUN = [register(), issue("2026-01-05 09:00")]
BARE = register(model="bare")

EXAMINATION = [
    Case(
        "february-28-gives-march-28",
        "Ruling 50 and design 4: an examination of 28 February is due again on 28 March, the same day-number.",
        [*BEGUN, examine("2026-02-28 10:00")],
        "2026-03-01 12:00",
        rule("in-date", "2026-03-28"),
    ),
    Case(
        "january-31-gives-february-28",
        "Design 4: where the next month has no such day, its last day is meant.",
        [*BEGUN, examine("2026-01-31 10:00")],
        "2026-02-10 12:00",
        rule("in-date", "2026-02-28"),
    ),
    Case(
        "each-examination-sets-a-new-anchor",
        "Design 4: 31 January, then 28 February, gives 28 March and not 31 March.",
        [*BEGUN, examine("2026-01-31 10:00"), examine("2026-02-28 10:00")],
        "2026-03-01 12:00",
        rule("in-date", "2026-03-28"),
    ),
    Case(
        "due-day-belongs",
        "Ruling 4: a due date includes its day; a minute before its local end the unit is not overdue.",
        [*BEGUN, examine("2026-02-28 10:00")],
        "2026-03-28 23:59",
        rule("due-soon", "2026-03-28"),
    ),
    Case(
        "overdue-at-local-midnight",
        "Ruling 4: the unit is overdue from the local midnight that ends the due day.",
        [*BEGUN, examine("2026-02-28 10:00")],
        "2026-03-29 00:00",
        rule("overdue", "2026-03-28", THOROUGH),
    ),
    Case(
        "summer-time-ends-the-day-earlier",
        "Ruling 50: the day ends by the site's zone; in summer time London's 30 April ends at 23:00 UTC.",
        [*BEGUN, examine("2026-03-30 10:00")],
        "2026-04-30 23:00",
        rule("overdue", "2026-04-30", THOROUGH),
    ),
    Case(
        "due-soon-starts-seven-local-days-before",
        "Ruling 50: due-soon starts seven days, in local time, before the instant at which overdue begins.",
        [*BEGUN, examine("2026-02-28 10:00")],
        "2026-03-22 00:00",
        rule("due-soon", "2026-03-28"),
    ),
    Case(
        "not-due-soon-a-minute-earlier",
        "Ruling 50: a minute before those seven days the unit is plainly in date.",
        [*BEGUN, examine("2026-02-28 10:00")],
        "2026-03-21 23:59",
        rule("in-date", "2026-03-28"),
    ),
    Case(
        "due-soon-by-local-time-over-the-clock-change",
        "Ruling 50: before London's 29 March the seven days start at UTC midnight though they end at 23:00 UTC.",
        [*BEGUN, examine("2026-03-01 10:00")],
        "2026-03-26 00:00",
        rule("due-soon", "2026-04-01"),
    ),
    Case(
        "runs-from-first-issue",
        "Design 4: a new unit runs from its first issue when no acceptance examination is on record.",
        BEGUN,
        "2026-01-20 12:00",
        rule("in-date", "2026-02-05"),
    ),
    Case(
        "never-examined-is-no-evidence",
        "Ruling 23: once that month has passed without any examination the reason is no-evidence.",
        BEGUN,
        "2026-02-06 00:00",
        rule("overdue", "2026-02-05", "no-evidence"),
    ),
    Case(
        "acceptance-policy-asks-for-evidence-at-once",
        "Ruling 35: where policy demands an acceptance examination, a unit issued without one has no evidence.",
        BEGUN,
        "2026-01-05 10:00",
        rule("overdue", None, "no-evidence"),
        base=[*FIRM, policy("acceptance", {"examination": True})],
    ),
    Case(
        "stationing-counts-as-first-issue",
        "Ruling 50: stationing counts as first issue, and a stationed unit is judged as emergency use.",
        [register(site="mesa"), tell("stationed", "2026-01-10 18:00", place="cabinet-1")],
        "2026-01-20 12:00",
        rule("in-date", "2026-02-10"),
    ),
    Case(
        "us-routine-has-no-monthly-duty",
        "Ruling 33: the us profile sets no periodic duty for routine use, so the rule is out of scope.",
        [register(site="mesa"), issue("2026-01-05 15:00", site="mesa")],
        "2026-06-01 12:00",
        {"A-1": {"standing": "in-date", "in_scope": True, "rules": {THOROUGH: OUT}}},
    ),
    Case(
        "us-emergency-is-monthly",
        "Ruling 50: the us profile has units for emergencies examined monthly.",
        [register(site="mesa", use="emergency"), issue("2026-01-05 15:00"), examine("2026-02-10 15:00")],
        "2026-03-11 05:00",
        rule("overdue", "2026-03-10", THOROUGH),
    ),
    Case(
        "us-day-ends-in-its-own-zone",
        "Ruling 50: Chicago's 10 March 2026 ends at 05:00 UTC, summer time having begun on the 8th.",
        [register(site="mesa", use="emergency"), issue("2026-01-05 15:00"), examine("2026-02-10 15:00")],
        "2026-03-11 04:59",
        rule("due-soon", "2026-03-10"),
    ),
    Case(
        "evening-examination-counts-on-its-local-day",
        "Ruling 4: an examination at 20:00 in Chicago is of that day there, though it is the next day in UTC.",
        [register(site="mesa", use="emergency"), issue("2026-01-05 15:00"), examine("2026-02-11 02:00", site="mesa")],
        "2026-02-20 12:00",
        rule("in-date", "2026-03-10"),
    ),
    Case(
        "registered-as-occasional-is-routine",
        "Ruling 50: a unit registered as occasional counts as routine until someone with authority sets it.",
        [register(use="occasional"), issue("2026-01-05 09:00"), examine("2026-01-12 10:00")],
        "2026-01-20 12:00",
        {"A-1": {"use": "routine", "rules": {THOROUGH: {"due": "2026-02-12"}}}},
    ),
    Case(
        "occasional-use-may-take-three-months",
        "Ruling 50: set to occasional by a manager, the uk interval is three months.",
        [
            *BEGUN,
            examine("2026-01-12 10:00"),
            tell("use-set", "2026-01-13 10:00", use="occasional", authorised_by="m-1", reason="spare", role="manager"),
        ],
        "2026-01-20 12:00",
        {"A-1": {"use": "occasional", "rules": {THOROUGH: {"due": "2026-04-12"}}}},
    ),
    Case(
        "occasional-needs-authority",
        "Ruling 50: a use-set to occasional with a site app's key changes nothing.",
        [
            *BEGUN,
            examine("2026-01-12 10:00"),
            tell("use-set", "2026-01-13 10:00", use="occasional", authorised_by="m-1", reason="spare", role="site-app"),
        ],
        "2026-01-20 12:00",
        {"A-1": {"use": "routine", "rules": {THOROUGH: {"due": "2026-02-12"}}}},
    ),
    Case(
        "occasional-bites-from-receipt",
        "Ruling 50: occasional use bites from its receipt, not from the earlier moment it is dated to.",
        [
            *BEGUN,
            examine("2026-01-12 10:00"),
            tell(
                "use-set",
                "2026-01-13 10:00",
                use="occasional",
                authorised_by="m-1",
                reason="spare",
                role="manager",
                received="2026-01-30 10:00",
            ),
        ],
        "2026-01-30 09:59",
        {"A-1": {"use": "routine", "rules": {THOROUGH: {"due": "2026-02-12"}}}},
    ),
    Case(
        "date-only-examination-keeps-its-day",
        "Ruling 3: an examination with a date alone anchors on that date, though it counts at its end.",
        [*BEGUN, examine("2026-02-28", received="2026-03-01 10:00")],
        "2026-03-01 12:00",
        rule("in-date", "2026-03-28"),
    ),
    Case(
        "date-only-good-news-counts-at-the-end-of-its-day",
        "Design 3.1: during 28 February the examination dated to it does not count yet.",
        [*BEGUN, examine("2026-02-28", received="2026-03-01 10:00")],
        "2026-02-28 12:00",
        rule("overdue", "2026-02-05", "no-evidence"),
    ),
    Case(
        "powered-unit-needs-measured-flow",
        "Design 3.3: a powered unit's examination without measured flow moves no due date.",
        [*BEGUN, examine("2026-01-20 10:00", airflow_lpm=None)],
        "2026-01-21 12:00",
        rule("in-date", "2026-02-05"),
    ),
    Case(
        "exactly-the-minimum-passes",
        "Ruling 19: exactly the minimum flow passes.",
        [*BEGUN, examine("2026-01-20 10:00", airflow_lpm=160)],
        "2026-01-21 12:00",
        rule("in-date", "2026-02-20"),
    ),
    Case(
        "below-the-minimum-fails-whatever-is-said",
        "Ruling 19: a reading under the minimum fails the airflow point whatever the points say, and withdraws.",
        [*BEGUN, examine("2026-01-20 10:00", airflow_lpm=159.9)],
        "2026-01-21 12:00",
        {"A-1": {"phase": "quarantined", "standing": "do-not-use", "reasons": ["withdrawal"], "put_away": None}},
    ),
    Case(
        "implausible-reading-proves-nothing",
        "Design 3.3: a reading beyond the plausible range proves nothing, so the examination does not count.",
        [*BEGUN, examine("2026-01-20 10:00", airflow_lpm=900)],
        "2026-01-21 12:00",
        rule("in-date", "2026-02-05"),
    ),
    Case(
        "instrument-in-calibration-on-its-last-day",
        "Ruling 4: a calibration due date includes its day.",
        [*BEGUN, examine("2026-06-30 20:00", instrument="meter")],
        "2026-07-01 12:00",
        rule("in-date", "2026-07-30"),
    ),
    Case(
        "instrument-out-of-calibration-proves-nothing",
        "Ruling 21: a reading from an instrument out of calibration does not count.",
        [*BEGUN, examine("2026-06-20 20:00", instrument="meter"), examine("2026-07-01 10:00", instrument="meter")],
        "2026-07-02 12:00",
        rule("in-date", "2026-07-20"),
    ),
    Case(
        "unknown-instrument-proves-nothing",
        "Ruling 21: an instrument nobody defined is not known to be in calibration.",
        [*BEGUN, examine("2026-01-20 10:00", instrument="other")],
        "2026-01-21 12:00",
        rule("in-date", "2026-02-05"),
    ),
    Case(
        "missing-required-point-is-invalid",
        "Ruling 21: an examination that leaves out a required point is invalid.",
        [
            *BEGUN,
            examine("2026-01-20 10:00", points={"airflow": "pass", "alarm": "pass", "filters": "pass", "tube": "pass"}),
        ],
        "2026-01-21 12:00",
        rule("in-date", "2026-02-05"),
    ),
    Case(
        "not-applicable-does-not-prove-a-required-point",
        "Design 3.3: a required point marked not-applicable proves nothing.",
        [*BEGUN, examine("2026-01-20 10:00", points=PASSES | {"tube": "not-applicable"})],
        "2026-01-21 12:00",
        rule("in-date", "2026-02-05"),
    ),
    Case(
        "pass-after-repair-is-passing",
        "Ruling 21: pass-after-repair is passing when its readings pass.",
        [*BEGUN, examine("2026-01-20 10:00", result="pass-after-repair")],
        "2026-01-21 12:00",
        rule("in-date", "2026-02-20"),
    ),
    Case(
        "examiner-without-competence",
        "Design 4: an examination by a person without that competence on record does not count.",
        [*BEGUN, examine("2026-01-20 10:00", by="p-7", label="exam")],
        "2026-01-21 12:00",
        rule("in-date", "2026-02-05"),
        conflicts={"exam": ["unknown-competence"]},
    ),
    Case(
        "competence-recorded-later-counts-from-its-own-time",
        "Ruling 49: competence counts by occurred time, as known: training recorded later makes it count.",
        [
            *BEGUN,
            examine("2026-01-20 10:00", by="p-7", label="exam"),
            say(
                "trained", "2026-01-19 10:00", "adm", received="2026-02-01 10:00", person="p-7", competences=["examine"]
            ),
        ],
        "2026-01-21 12:00",
        rule("in-date", "2026-02-20"),
        conflicts={"exam": []},
    ),
    Case(
        "competence-as-known-before",
        "Ruling 49 and design 3.9: asked as known before that training was recorded, the examination does not count.",
        [
            *BEGUN,
            examine("2026-01-20 10:00", by="p-7"),
            say(
                "trained", "2026-01-19 10:00", "adm", received="2026-02-01 10:00", person="p-7", competences=["examine"]
            ),
        ],
        "2026-01-21 12:00",
        rule("in-date", "2026-02-05"),
        known_after=3,
    ),
    Case(
        "nobody-grants-themselves-a-competence",
        "Ruling 49: who grants themselves a competence is trained to wear only, and it is a conflict.",
        [
            *BEGUN,
            say("trained", "2026-01-19 10:00", "p-7", person="p-7", competences=["wear", "examine"], label="self"),
            examine("2026-01-20 10:00", by="p-7"),
        ],
        "2026-01-21 12:00",
        rule("in-date", "2026-02-05"),
        conflicts={"self": ["self-granted-competence"]},
    ),
    Case(
        "competence-ends-with-its-last-day",
        "Ruling 4: a competence valid until a date includes that day and no more.",
        [
            *BEGUN,
            say("trained", "2026-01-10 10:00", "adm", person="p-7", competences=["examine"], valid_until="2026-01-20"),
            examine("2026-01-20 22:00", by="p-7"),
            examine("2026-01-21 08:00", by="p-7"),
        ],
        "2026-01-21 12:00",
        rule("in-date", "2026-02-20"),
    ),
    Case(
        "ended-authorisation",
        "Ruling 28: an ended authorisation ends every earlier training in it, until a new one begins again.",
        [
            *BEGUN,
            say("authorisation-ended", "2026-01-10 10:00", "adm", person="ex-1", of="examine"),
            examine("2026-01-15 10:00"),
        ],
        "2026-01-21 12:00",
        rule("in-date", "2026-02-05"),
    ),
    Case(
        "trained-again-after-the-end",
        "Ruling 28: a new training after the end begins again.",
        [
            *BEGUN,
            say("authorisation-ended", "2026-01-10 10:00", "adm", person="ex-1", of="examine"),
            say("trained", "2026-01-12 10:00", "adm", person="ex-1", competences=["examine"]),
            examine("2026-01-15 10:00"),
        ],
        "2026-01-21 12:00",
        rule("in-date", "2026-02-15"),
    ),
    Case(
        "checks-never-satisfy-it",
        "Design 4: pre-use checks never satisfy the thorough examination.",
        [*BEGUN, say("checked", "2026-01-20 10:00", "ex-1", asset="A-1", wearer="p-1", points=PASSES, airflow_lpm=180)],
        "2026-02-06 12:00",
        rule("overdue", "2026-02-05", "no-evidence"),
    ),
    Case(
        "voided-examination-never-happened",
        "Decision 7: voiding good news bites at once, back to its date.",
        [
            *BEGUN,
            examine("2026-01-20 10:00", label="exam"),
            say("voided", "2026-02-15 10:00", "m-1", event="@exam", reason="wrong unit"),
        ],
        "2026-02-10 12:00",
        rule("overdue", "2026-02-05", "no-evidence"),
    ),
    Case(
        "voided-voiding-restores",
        "Ruling 7: voiding a voiding puts the event back at its place.",
        [
            *BEGUN,
            examine("2026-01-20 10:00", label="exam"),
            say("voided", "2026-02-15 10:00", "m-1", event="@exam", reason="wrong unit", label="void"),
            say("voided", "2026-02-16 10:00", "m-1", event="@void", reason="right after all"),
        ],
        "2026-02-10 12:00",
        rule("in-date", "2026-02-20"),
    ),
    Case(
        "policy-shortens-the-interval",
        "Ruling 35: an organisation-wide policy changes a duty the profile has.",
        [*BEGUN, examine("2026-01-20 10:00")],
        "2026-01-21 12:00",
        rule("in-date", "2026-02-03"),
        base=[*FIRM, policy(THOROUGH, {"interval": "P2W"})],
    ),
    Case(
        "narrowest-policy-wins",
        "Ruling 35: the narrowest policy wins, model before site, and a use it leaves out keeps the wider one's.",
        [*BEGUN, examine("2026-01-20 10:00")],
        "2026-01-21 12:00",
        rule("in-date", "2026-01-30"),
        base=[
            *FIRM,
            policy(THOROUGH, {"interval": "P2W"}),
            policy(THOROUGH, {"interval": "P5D"}, site="dock"),
            policy(THOROUGH, {"interval": {"routine": "P10D"}}, model="hood"),
            policy(THOROUGH, {"interval": {"emergency": "P1D"}}, site="dock", model="hood"),
        ],
    ),
    Case(
        "wide-policy-creates-no-duty",
        "Ruling 35: an organisation-wide policy creates no duty that the us profile does not have.",
        [register(site="mesa"), issue("2026-01-05 15:00")],
        "2026-06-01 12:00",
        {"A-1": {"rules": {THOROUGH: OUT}}},
        base=[*FIRM, policy(THOROUGH, {"interval": "P1M"})],
    ),
    Case(
        "site-policy-may-create-a-duty",
        "Ruling 35: with the scope of a site a policy may create a duty.",
        [register(site="mesa"), issue("2026-01-05 15:00")],
        "2026-02-01 12:00",
        rule("due-soon", "2026-02-05"),
        base=[*FIRM, policy(THOROUGH, {"interval": "P1M"}, site="mesa")],
    ),
    Case(
        "policy-never-bites-before-receipt",
        "Ruling 5: a policy dated back without a correction bites from its receipt.",
        [*BEGUN, examine("2026-01-20 10:00"), policy(THOROUGH, {"interval": "P1W"}, received="2026-02-10 00:00")],
        "2026-02-01 12:00",
        rule("in-date", "2026-02-20"),
    ),
    Case(
        "sealed-masks-need-no-flow",
        "Design 3.3: a unit without a fan needs no measured flow.",
        [BARE, issue("2026-01-05 09:00"), examine("2026-01-20 10:00", points=MASK_PASSES, airflow_lpm=None)],
        "2026-01-21 12:00",
        rule("in-date", "2026-02-20"),
    ),
    Case(
        "failing-examination-withdraws",
        "Design 3.4: a failing examination withdraws the unit at once.",
        [*BEGUN, examine("2026-01-20 10:00", points=fails("tube"), result="fail")],
        "2026-01-20 10:00",
        {"A-1": {"phase": "quarantined", "standing": "do-not-use", "in_scope": True, "reasons": ["withdrawal"]}},
    ),
]
