"""Examples about withdrawal, the grounds of release, and voiding."""

from typing import Any

from tests.oracle.case import Case
from tests.oracle.firm import check, examine, fails, issue, register, tell
from tests.oracle.posting import say

HELD = [register(), examine("2026-02-27 10:00"), issue("2026-03-02 05:00")]
ALARM = check("2026-03-02 06:00", points=fails("alarm"), label="fail")
FAILED = [*HELD, ALARM]


def release(at: str, by: str = "rel-1", **fields: Any) -> Any:
    """Release the unit."""
    return tell("released", at, by=by, label="release", **fields)


def void(at: str, by: str = "m-1", event: str = "@fail", label: str = "void") -> Any:
    """Void an event from another key."""
    return say("voided", at, by, event=event, reason="posted for the wrong unit", label=label, key="desk")


STAYS: dict[str, Any] = {"A-1": {"phase": "quarantined", "do_not_use": True, "reasons": ["withdrawal"]}}
OUT: dict[str, Any] = {
    "A-1": {"phase": "in-store", "do_not_use": False, "reasons": [], "holder": None, "put_away": None}
}
UNGROUNDED = {"release": ["released-without-ground"]}

RELEASE = [
    Case(
        "dead-alarm-withdraws-at-once",
        "Design 3.4: a failed point that asks for it quarantines at once, in the hands where the unit is.",
        FAILED,
        "2026-03-02 06:00",
        {
            "A-1": {
                "phase": "quarantined",
                "in_scope": True,
                "standing": "do-not-use",
                "put_away": None,
                "holder": {"person": "p-1"},
            }
        },
    ),
    Case(
        "release-without-ground-stays",
        "Design 3.4: a release without ground is a conflict and the unit stays.",
        [*FAILED, release("2026-03-02 08:00")],
        "2026-03-02 08:00",
        STAYS,
        conflicts=UNGROUNDED,
    ),
    Case(
        "release-on-a-passing-examination",
        "Ruling 25: a passing examination later than the failure is ground, and the release leads to the store.",
        [*FAILED, examine("2026-03-02 07:00"), release("2026-03-02 08:00")],
        "2026-03-02 08:00",
        OUT,
        conflicts={"release": []},
    ),
    Case(
        "examination-alone-changes-no-phase",
        "Ruling 43: a passing examination gives ground; the phase changes with the release.",
        [*FAILED, examine("2026-03-02 07:00")],
        "2026-03-02 08:00",
        STAYS,
    ),
    Case(
        "equal-instants-are-not-later",
        "Ruling 3: an examination at the instant of the failure is not later than it.",
        [*FAILED, examine("2026-03-02 06:00"), release("2026-03-02 08:00")],
        "2026-03-02 08:00",
        STAYS,
        conflicts=UNGROUNDED,
    ),
    Case(
        "date-only-examination-of-a-later-failure",
        "Design 3.1: an examination with that date alone counts at the end of the day, so after the morning's failure.",
        [*FAILED, examine("2026-03-02", received="2026-03-03 09:00"), release("2026-03-03 08:00")],
        "2026-03-03 08:00",
        OUT,
    ),
    Case(
        "release-on-repair-and-check",
        "Ruling 25: a repair by a competent person and then a complete passing check are ground.",
        [
            *FAILED,
            tell("repaired", "2026-03-02 07:00", by="rep-1", work=["fan"]),
            check("2026-03-02 07:30"),
            release("2026-03-02 08:00"),
        ],
        "2026-03-02 08:00",
        OUT,
    ),
    Case(
        "repair-without-competence-is-no-ground",
        "Ruling 28: only a repair by someone competent is ground.",
        [
            *FAILED,
            tell("repaired", "2026-03-02 07:00", by="p-8", work=["fan"], label="repair"),
            check("2026-03-02 07:30"),
            release("2026-03-02 08:00"),
        ],
        "2026-03-02 08:00",
        STAYS,
        conflicts={"repair": ["unknown-competence"]} | UNGROUNDED,
    ),
    Case(
        "check-before-the-repair-is-no-ground",
        "Design 3.4: the check must come after the repair.",
        [
            *FAILED,
            check("2026-03-02 06:30"),
            tell("repaired", "2026-03-02 07:00", by="rep-1", work=["fan"]),
            release("2026-03-02 08:00"),
        ],
        "2026-03-02 08:00",
        STAYS,
    ),
    Case(
        "check-alone-is-no-ground",
        "Design 3.4: a passing check alone is no ground.",
        [*FAILED, check("2026-03-02 07:00"), release("2026-03-02 08:00")],
        "2026-03-02 08:00",
        STAYS,
        conflicts=UNGROUNDED,
    ),
    Case(
        "releaser-without-competence",
        "Design 4: a release counts only from a person with that competence on record.",
        [*FAILED, examine("2026-03-02 07:00"), release("2026-03-02 08:00", by="p-8")],
        "2026-03-02 08:00",
        STAYS,
        conflicts={"release": ["unknown-competence"]},
    ),
    Case(
        "failure-after-the-ground-takes-it-away",
        "Design 3.4: ground must be later than the last failure.",
        [
            *FAILED,
            examine("2026-03-02 07:00"),
            tell("failed-in-use", "2026-03-02 07:30", signs=["fan-stopped"]),
            release("2026-03-02 08:00"),
        ],
        "2026-03-02 08:00",
        STAYS,
        conflicts=UNGROUNDED,
    ),
    Case(
        "every-reason-needs-its-ground",
        "Ruling 25: a release needs the ground of every reason held; a repair and a check clear no contamination.",
        [
            *FAILED,
            tell("quarantined", "2026-03-02 06:30", reason="contamination"),
            tell("repaired", "2026-03-02 07:00", by="rep-1", work=["fan"]),
            check("2026-03-02 07:30"),
            release("2026-03-02 08:00"),
        ],
        "2026-03-02 08:00",
        STAYS,
        conflicts=UNGROUNDED,
    ),
    Case(
        "examination-clears-contamination",
        "Ruling 25: contamination is cleared by a passing examination.",
        [
            *HELD,
            tell("quarantined", "2026-03-02 06:30", reason="contamination"),
            examine("2026-03-02 07:00"),
            release("2026-03-02 08:00"),
        ],
        "2026-03-02 08:00",
        OUT,
    ),
    Case(
        "quarantine-dates-its-reason-anew",
        "Ruling 43: a second quarantine dates its reason anew, and the earlier examination is no ground for it.",
        [
            *HELD,
            tell("quarantined", "2026-03-02 06:30", reason="suspect"),
            examine("2026-03-02 07:00"),
            tell("quarantined", "2026-03-02 07:30", reason="suspect"),
            release("2026-03-02 08:00"),
        ],
        "2026-03-02 08:00",
        STAYS,
        conflicts=UNGROUNDED,
    ),
    Case(
        "recall-needs-its-remedy",
        "Ruling 25: a recall's quarantine is not cleared by an examination, and its reason is shown.",
        [
            *HELD,
            tell("quarantined", "2026-03-02 06:30", reason="recall", recall="r-1"),
            examine("2026-03-02 07:00"),
            release("2026-03-02 08:00"),
        ],
        "2026-03-02 08:00",
        {"A-1": {"phase": "quarantined", "reasons": ["recall", "withdrawal"]}},
        conflicts=UNGROUNDED,
    ),
    Case(
        "recall-remedied",
        "Ruling 25: recall-actioned as fixed is the ground for it.",
        [
            *HELD,
            tell("quarantined", "2026-03-02 06:30", reason="recall", recall="r-1"),
            tell("recall-actioned", "2026-03-02 07:00", recall="r-1", result="fixed"),
            release("2026-03-02 08:00"),
        ],
        "2026-03-02 08:00",
        OUT,
    ),
    Case(
        "voiding-a-failure-ends-nothing",
        "Design 3.6: voiding a failure ends nothing by itself.",
        [*FAILED, void("2026-03-02 07:00")],
        "2026-03-02 09:00",
        STAYS,
    ),
    Case(
        "release-on-a-voiding",
        "Ruling 26: named in the release, with a complete passing check by a third person later than it, it is ground.",
        [
            *FAILED,
            void("2026-03-02 07:00"),
            check("2026-03-02 07:30", by="p-3"),
            release("2026-03-02 08:00", voiding="@void", role="manager"),
        ],
        "2026-03-02 08:00",
        OUT,
        conflicts={"release": []},
    ),
    Case(
        "release-on-a-voiding-not-named",
        "Ruling 26: a release that does not name the voiding does not rest on it.",
        [*FAILED, void("2026-03-02 07:00"), check("2026-03-02 07:30", by="p-3"), release("2026-03-02 08:00")],
        "2026-03-02 08:00",
        STAYS,
        conflicts=UNGROUNDED,
    ),
    Case(
        "checker-may-not-be-the-one-who-voided",
        "Ruling 26: the checker neither posted nor voided the original nor releases.",
        [
            *FAILED,
            void("2026-03-02 07:00"),
            check("2026-03-02 07:30", by="m-1"),
            release("2026-03-02 08:00", voiding="@void", role="manager"),
        ],
        "2026-03-02 08:00",
        STAYS,
        conflicts=UNGROUNDED,
    ),
    Case(
        "check-must-be-later-than-the-voiding",
        "Ruling 26: the check must be later than the voiding.",
        [
            *FAILED,
            check("2026-03-02 06:30", by="p-3"),
            void("2026-03-02 07:00"),
            release("2026-03-02 08:00", voiding="@void", role="manager"),
        ],
        "2026-03-02 08:00",
        STAYS,
        conflicts=UNGROUNDED,
    ),
    Case(
        "release-on-a-voided-voiding",
        "Ruling 7: when the voiding itself is voided, the release that rested on it has no ground.",
        [
            *FAILED,
            void("2026-03-02 07:00"),
            check("2026-03-02 07:30", by="p-3"),
            release("2026-03-02 08:00", voiding="@void", role="manager"),
            void("2026-03-02 09:00", event="@void", label="back"),
        ],
        "2026-03-02 08:30",
        STAYS,
        conflicts=UNGROUNDED,
    ),
    Case(
        "one-voiding-forgives-one-failure",
        "Ruling 26: another failure still held needs a ground of its own.",
        [
            *FAILED,
            check("2026-03-02 06:20", points=fails("tube"), by="p-2"),
            void("2026-03-02 07:00"),
            check("2026-03-02 07:30", by="p-3"),
            release("2026-03-02 08:00", voiding="@void", role="manager"),
        ],
        "2026-03-02 08:00",
        STAYS,
        conflicts=UNGROUNDED,
    ),
    Case(
        "own-failing-reading-cannot-be-voided",
        "Ruling 27: voiding one's own check that fails only by its readings is recorded without effect, a conflict.",
        [
            *HELD,
            check("2026-03-02 06:00", airflow_lpm=100, label="fail"),
            void("2026-03-02 07:00", by="p-1"),
            check("2026-03-02 07:30", by="p-3"),
            release("2026-03-02 08:00", voiding="@void", role="manager"),
        ],
        "2026-03-02 08:00",
        STAYS,
        conflicts={"void": ["own-adverse-event"]} | UNGROUNDED,
    ),
    Case(
        "voiding-good-news-bites-at-once",
        "Design 3.6: voiding the examination a release rested on takes the ground away, back to its date.",
        [
            *FAILED,
            examine("2026-03-02 07:00", label="exam"),
            release("2026-03-02 08:00"),
            void("2026-03-05 07:00", event="@exam"),
        ],
        "2026-03-02 09:00",
        STAYS,
        conflicts=UNGROUNDED,
    ),
    Case(
        "not-yet-voided-as-known",
        "Design 3.9: as known before the voiding was recorded, the release counted.",
        [
            *FAILED,
            examine("2026-03-02 07:00", label="exam"),
            release("2026-03-02 08:00"),
            void("2026-03-05 07:00", event="@exam"),
        ],
        "2026-03-02 09:00",
        OUT,
        known_after=6,
    ),
    Case(
        "failed-in-use-withdraws",
        "Design 3.4: a failure in use withdraws at once.",
        [*HELD, tell("failed-in-use", "2026-03-02 06:00", signs=["smell-or-taste"], left_area=True)],
        "2026-03-02 06:00",
        STAYS,
    ),
    Case(
        "adverse-after-favourable-at-one-instant",
        "Design 3.1: of a passing and a failing check at one instant the failing one comes last.",
        [*HELD, check("2026-03-02 06:00", points=fails("filters")), check("2026-03-02 06:00")],
        "2026-03-02 06:00",
        {"A-1": {"standing": "do-not-use", "reasons": ["recheck"]}},
    ),
    Case(
        "date-only-bad-news-counts-from-the-start-of-its-day",
        "Design 3.1: a quarantine with a date alone counts from the start of that day.",
        [*HELD, tell("quarantined", "2026-03-03", reason="suspect")],
        "2026-03-03 00:00",
        STAYS,
    ),
    Case(
        "a-release-with-nothing-held-does-nothing",
        "Design 3.4: a release has nothing to do for a unit that is not quarantined; it stays with its holder.",
        [*HELD, release("2026-03-02 08:00")],
        "2026-03-02 08:00",
        {"A-1": {"phase": "issued", "holder": {"person": "p-1"}}},
        conflicts={"release": []},
    ),
    Case(
        "an-open-recheck-outlives-the-release",
        "Design 3.4: a failed point of that kind waits for a complete passing check, whatever else was examined.",
        [
            *HELD,
            check("2026-03-02 06:00", points=fails("filters")),
            check("2026-03-02 06:10", points=fails("filters")),
            examine("2026-03-02 07:00"),
            release("2026-03-02 08:00"),
        ],
        "2026-03-02 08:00",
        {"A-1": {"phase": "in-store", "do_not_use": True, "reasons": ["recheck"]}},
    ),
    Case(
        "damage-outlives-a-later-failed-recheck",
        "Design 3.4: ground must be later than the last failure, one that only asks for a recheck included.",
        [
            *HELD,
            tell("quarantined", "2026-03-02 06:00", reason="damage"),
            examine("2026-03-02 07:00"),
            check("2026-03-02 07:30", points=fails("filters")),
            check("2026-03-02 07:40"),
            release("2026-03-02 08:00"),
        ],
        "2026-03-02 08:00",
        STAYS,
        conflicts=UNGROUNDED,
    ),
    Case(
        "repair-and-check-at-one-instant",
        "Ruling 3: the check that follows a repair must be later than it by its instant.",
        [
            *FAILED,
            tell("repaired", "2026-03-02 07:00", by="rep-1", work=["fan"]),
            check("2026-03-02 07:00"),
            release("2026-03-02 08:00"),
        ],
        "2026-03-02 08:00",
        STAYS,
        conflicts=UNGROUNDED,
    ),
    Case(
        "release-at-the-instant-of-its-examination",
        "Ruling 2: at one instant the examination comes before the release, which may rest on it.",
        [*FAILED, release("2026-03-02 07:00"), examine("2026-03-02 07:00")],
        "2026-03-02 07:00",
        OUT,
        conflicts={"release": []},
    ),
    Case(
        "voided-ending-of-authorisation-stays",
        "Ruling 43: voided bad news stays; who lost a competence needs a new training, not a voiding.",
        [
            *FAILED,
            say("authorisation-ended", "2026-03-02 06:30", "adm", person="ex-1", of="examine", label="end"),
            void("2026-03-02 06:45", event="@end"),
            examine("2026-03-02 07:00"),
            release("2026-03-02 08:00"),
        ],
        "2026-03-02 08:00",
        STAYS,
        conflicts=UNGROUNDED,
    ),
    Case(
        "failing-point-the-model-does-not-know",
        "Design 3.3: a failing point that the model does not know is judged on the safe side.",
        [*HELD, check("2026-03-02 06:00", points=fails() | {"buzzer": "fail"})],
        "2026-03-02 06:00",
        STAYS,
    ),
    Case(
        "implausibly-low-reading-fails",
        "Ruling 19: a reading under the minimum fails the airflow point even where it is not plausible.",
        [*HELD, check("2026-03-02 06:00", airflow_lpm=5)],
        "2026-03-02 06:00",
        STAYS,
    ),
    Case(
        "uncalibrated-reading-spoils-the-check",
        "Design 3.3: a reading by an instrument out of calibration leaves the airflow point unproven.",
        [*HELD, check("2026-03-02 06:00", airflow_lpm=180, instrument="other")],
        "2026-03-02 06:00",
        {"A-1": {"phase": "issued", "rules": {"pre-use-check": {"check_needed": True, "cover_until": None}}}},
    ),
]
