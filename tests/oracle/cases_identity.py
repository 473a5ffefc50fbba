"""Examples about tags, serial numbers and units registered again."""

from typing import Any

from tests.oracle.case import Case
from tests.oracle.firm import FIRM, HOOD, PACK, check, defined, examine, fails, issue, register, tell, wear
from tests.oracle.posting import say

HELD = [register(), examine("2026-02-27 10:00"), issue("2026-03-02 05:00")]
THEIRS = register("2026-03-02 08:00", "B-1", model="pack", serial="S-A-1", label="again")
GONE: dict[str, Any] = {"A-1": None}
OTHERS = [one for one in FIRM if one.message.get("model") != "pack"]
OWN_PACK = [*OTHERS, defined("model-defined", label="pack", **PACK)]
TAKEN_BACK = say("voided", "2026-03-03 08:00", "adm", event="@pack", reason="typed wrong")
FROM_THE_BEGINNING = {"effective_from": "2024-01-01T00:00:00+00:00", "correction": True, "reason": "typed wrong"}
AGAIN = register("2026-03-10 08:00", "A-2", serial=" s-a-1", label="again")


def unit(tag: str, **fields: Any) -> dict[str, Any]:
    """Expect something of a unit."""
    return {tag: fields}


IDENTITY = [
    Case(
        "second-tag-continues-the-history",
        "Design 2: a second tag continues the unit's history, and the first no longer shows it.",
        [*HELD, tell("retagged", "2026-03-03 08:00", new_tag="A-9")],
        "2026-03-03 08:00",
        unit("A-9", phase="issued", holder={"person": "p-1"}) | GONE,
    ),
    Case(
        "retagged-on-a-day-of-two-registrations-at-once",
        "Ruling 2, design 3.1: of two of one moment the first by id says where the day ends, whichever came first.",
        [
            register("2026-01-05 08:00", site="mesa", id="ffffffff-0000-7000-8000-000000000001"),
            register("2026-01-05 08:00", site="dock"),
            tell("retagged", "2026-01-07", new_tag="A-9"),
        ],
        "2026-01-08 02:00",
        unit("A-9", serial="S-A-1") | GONE,
    ),
    Case(
        "old-tag-still-reaches-its-unit",
        "Ruling 47: until a freed tag is used again, what is posted to it is of the unit that bore it.",
        [*HELD, tell("retagged", "2026-03-03 08:00", new_tag="A-9"), tell("returned", "2026-03-04 08:00")],
        "2026-03-04 08:00",
        unit("A-9", phase="in-store"),
    ),
    Case(
        "freed-tag-used-again",
        "Ruling 47: a freed tag may be used again, and what came before that moment stays with the old unit.",
        [
            *HELD,
            tell("retagged", "2026-03-03 08:00", new_tag="A-9"),
            register("2026-03-05 08:00", serial="other"),
            tell("returned", "2026-03-06 08:00", label="return"),
        ],
        "2026-03-06 08:00",
        unit("A-9", phase="issued") | unit("A-1", phase="in-store", serial="other"),
        conflicts={"return": ["returned-without-holder"]},
    ),
    Case(
        "late-event-stays-with-the-old-unit",
        "Ruling 47: a late event dated before the tag changed hands is of the old unit.",
        [
            *HELD,
            tell("retagged", "2026-03-03 08:00", new_tag="A-9"),
            register("2026-03-05 08:00", serial="other"),
            check("2026-03-02 06:00", points=fails("alarm"), received="2026-03-06 08:00"),
        ],
        "2026-03-06 09:00",
        unit("A-9", phase="quarantined") | unit("A-1", phase="in-store", do_not_use=False),
    ),
    Case(
        "same-serial-registered-again",
        "Ruling 13: the same maker and serial under a new tag is a conflict; phase, holder and breaches go on.",
        [*HELD, wear("2026-03-02 08:00"), AGAIN],
        "2026-03-10 08:00",
        unit("A-2", phase="issued", holder={"person": "p-1"}, reasons=["used-without-check"]) | GONE,
        conflicts={"again": ["serial-known"]},
    ),
    Case(
        "retired-unit-registered-again",
        "Ruling 13: a retired unit registered again is in store, with its whole history.",
        [*HELD, tell("retired", "2026-03-05 08:00", reason="obsolete"), AGAIN],
        "2026-03-10 08:00",
        unit("A-2", phase="in-store", do_not_use=False, holder=None, ready_to_issue={"ready": True, "reasons": []}),
        conflicts={"again": ["serial-known"]},
    ),
    Case(
        "registered-again-with-a-reason-held",
        "Rulings 13 and 41: a reason held is not shed by retiring the unit and registering it again.",
        [
            *HELD,
            check("2026-03-02 06:00", points=fails("alarm")),
            tell("retired", "2026-03-05 08:00", reason="obsolete"),
            AGAIN,
        ],
        "2026-03-10 08:00",
        unit("A-2", phase="quarantined", do_not_use=True, in_scope=False, reasons=["withdrawal"]),
    ),
    Case(
        "maker-of-the-first-version-counts",
        "Ruling 13: the maker is that of the model's first version, so a later change of maker makes no other unit.",
        [*HELD, AGAIN],
        "2026-03-10 08:00",
        unit("A-2", phase="issued"),
        base=[
            *FIRM,
            defined(
                "model-defined",
                "2026-03-06 00:00",
                **HOOD | {"maker": "Renamed Air"},
            ),
        ],
    ),
    Case(
        "other-maker-same-serial-is-another-unit",
        "Ruling 13: the same serial number of another maker is another unit.",
        [*HELD, register("2026-03-10 08:00", "A-2", model="mask", serial="S-A-1", label="again")],
        "2026-03-10 08:00",
        unit("A-2", phase="in-store") | unit("A-1", phase="issued"),
        conflicts={"again": []},
    ),
    Case(
        "defined-again-by-another-maker",
        "Ruling 13: taken back and defined again by another maker, a model's units were never those of the first.",
        [*HELD, THEIRS, TAKEN_BACK, defined("model-defined", "2026-03-04 08:00", **PACK | {"maker": "Others"})],
        "2026-03-10 08:00",
        unit("A-1", phase="issued") | unit("B-1", phase="in-store"),
        base=OWN_PACK,
        conflicts={"again": []},
    ),
    Case(
        "defined-again-by-the-same-maker",
        "Ruling 13: taken back and defined again by the maker it had, a model's units are the same as before.",
        [*HELD, THEIRS, TAKEN_BACK, defined("model-defined", "2026-03-04 08:00", **PACK)],
        "2026-03-10 08:00",
        unit("B-1", phase="issued", holder={"person": "p-1"}) | GONE,
        base=OWN_PACK,
        conflicts={"again": ["serial-known"]},
    ),
    Case(
        "maker-corrected-from-the-beginning",
        "Rulings 5 and 13: a correction that comes to be the first version tells whose a model's units always were.",
        [*HELD, THEIRS, defined("model-defined", "2026-03-04 08:00", **PACK, **FROM_THE_BEGINNING)],
        "2026-03-10 08:00",
        unit("B-1", phase="issued", holder={"person": "p-1"}) | GONE,
        base=[*OTHERS, defined("model-defined", label="pack", **PACK | {"maker": "Others"})],
        conflicts={"again": ["serial-known"]},
    ),
    Case(
        "event-before-registration",
        "Rulings 8 and 40: an event before the registration is believed, and is a conflict.",
        [register(), issue("2026-01-04 09:00", label="early")],
        "2026-01-05 08:00",
        unit("A-1", phase="issued"),
        conflicts={"early": ["before-registration"]},
    ),
    Case(
        "voided-registration",
        "Decision 7: with its registration voided the unit never was.",
        [register(label="wrong"), say("voided", "2026-01-06 09:00", "m-1", event="@wrong", reason="typing error")],
        "2026-01-07 09:00",
        GONE,
    ),
]
