"""Examples about recalls: what they speak of, what they ask, what clears them, and what their voiding leaves."""

from dataclasses import replace
from typing import Any

from tests.oracle.case import Case
from tests.oracle.firm import COWL, FIRM, HOOD, check, defined, examine, issue, part, position, register, tell
from tests.oracle.posting import Posted, say

FILTER, TUBE = "particle-filter", "breathing-tube"
LOT_9: dict[str, Any] = {"item": "p3", "lot": "L-9"}
NOW = "2026-03-02 12:00"
DOCK_NOON = "2026-03-02 10:00"


def stated(**lots: str | None) -> list[dict[str, Any]]:
    """State a part for every position of a hood: of a lot where one is given by its item."""
    items = {FILTER: "p3", "pre-filter": "pre", TUBE: "tube", "battery": "cell"}
    return [
        {"position": position, "part": part(item, **({"lot": lots[item]} if lots.get(item) else {}))}
        for position, item in items.items()
    ]


WITH_COWL = [*FIRM, defined("model-defined", **COWL)]
LABELLED = [replace(one, label="hood") if one.message.get("name") == "Hood" else one for one in FIRM]
NO_HOOD = say("voided", "2026-03-02 11:00", "m-1", event="@hood", reason="a mistake", key="desk")


def as_cowl(**fields: Any) -> Posted:
    """Register the hood again as a cowl of its maker."""
    return register("2026-03-02 11:00", model="cowl", **fields)


def hood_of(received: str, filter_item: str) -> Posted:
    """Define the hood with one filter alone."""
    return defined("model-defined", received, **HOOD | {"positions": [position(FILTER, "particle", filter_item)]})


AS_COWL = as_cowl()
OTHER_FILTER = hood_of("2026-03-02 18:00", "p9")


def begun(**lots: str | None) -> list[Posted]:
    """Register a hood with all its parts, examine, check and issue it."""
    return [
        register(parts=stated(**lots), made_on="2025-03-01"),
        examine("2026-02-27 10:00"),
        check("2026-03-02 06:50"),
        issue("2026-03-02 07:00"),
    ]


def recall(*criteria: dict[str, Any], at: str = DOCK_NOON, action: str = "stop-use", **fields: Any) -> Posted:
    """Open a recall."""
    given = {"recall": "r-1", "action": action, "criteria": list(criteria)} | fields
    return say("recall-opened", at, "m-2", label="recall", **given)


def swap(at: str, lot: str | None, tag: str = "A-1") -> Posted:
    """Put another filter in."""
    return tell(
        "part-replaced", at, tag, position=FILTER, in_=part("p3", **({"lot": lot} if lot else {})), reason="recall"
    )


def taken_out(at: str, **out: str) -> Posted:
    """Put another filter in, and say what was taken out."""
    part_in = part("p3", lot="L-10")
    return tell("filter-replaced", at, position=FILTER, in_=part_in, out={"item": "p3", **out}, reason="recall")


def identify(at: str, lot: str, position: str = FILTER, item: str = "p3") -> Posted:
    """Find out what sits in a position."""
    return tell("part-identified", at, position=position, part=part(item, lot=lot))


def act(at: str, result: str = "fixed") -> Posted:
    """Do something about the recall."""
    return tell("recall-actioned", at, recall="r-1", result=result, label="act")


def void(at: str, by: str = "m-1") -> Posted:
    """Take the recall back."""
    return say("voided", at, by, event="@recall", reason="the wrong lot", label="void", key="desk")


def release(at: str, **fields: Any) -> Posted:
    """Release the unit."""
    return tell("released", at, by="rel-1", label="release", **fields)


def closed(at: str) -> Posted:
    """Close the recall, with a reason for the unit."""
    return say("recall-closed", at, "m-2", recall="r-1", outstanding=[{"asset": "A-1", "reason": "later"}])


def judged(standing: str, *reasons: str, tag: str = "A-1") -> dict[str, Any]:
    """Expect what the rule says."""
    return {tag: {"rules": {"recall": {"standing": standing, "reasons": list(reasons)}}}}


STOPPED = judged("do-not-use", "recall")
CLEAR = judged("out-of-scope")


def says(name: str, meaning: str, posted: list[Posted], expect: dict[str, Any], at: str = NOW, **fields: Any) -> Case:
    """Make an example."""
    return Case(f"recall-{name}", meaning, posted, at, expect, **fields)


def answers(name: str, meaning: str, *posted: Posted, nothing: bool = False, **lots: str | None) -> Case:
    """Make an example of what answers a recall, or `nothing` that it asks: the recall is known to contradict it."""
    codes = ["not-under-recall"] if nothing else []
    given = lots or {"p3": "L-9"}
    return Case(f"recall-answered-{name}", meaning, [*begun(**given), *posted], NOW, {}, conflicts={"act": codes})


NOON = "2026-03-02 11:00"
HELD = tell("quarantined", "2026-03-02 10:30", reason="recall", recall="r-1")
ANSWERED = [
    answers("by-a-remedy", "Ruling 53: what answers a recall is no contradiction.", recall(LOT_9), act(NOON)),
    answers(
        "twice", "Nor is what is told again.", recall(LOT_9), act("2026-03-02 10:30"), act(NOON, "not-affected")
    ),
    answers("elsewhere", "Of another lot nothing is asked.", recall(LOT_9), act(NOON), nothing=True, p3="L-10"),
    answers("of-no-lot", "Ruling 34: what may be meant counts.", recall(LOT_9), act(NOON), p3=None),
    answers("before", "Ruling 3: what was done before is none.", act("2026-03-02 09:00"), recall(LOT_9), nothing=True),
    answers("at-its-opening", "Ruling 3: nor at its moment.", recall(LOT_9), act(DOCK_NOON), nothing=True),
    answers(
        "between-two-openings", "Ruling 3: nor as one more is opened.",
        recall(LOT_9 | {"lot": "L-8"}), act(NOON), recall(LOT_9, at=NOON), nothing=True,
    ),
    answers("after-a-swap", "It was there.", recall(LOT_9), swap("2026-03-02 10:30", "L-10"), act(NOON)),
    answers("after-a-swap-at-once", "At the same moment, too.", recall(LOT_9), swap(NOON, "L-10"), act(NOON)),
    answers(
        "of-what-had-gone", "What went before was never under it.",
        swap("2026-03-02 09:00", "L-10"), recall(LOT_9), act(NOON), nothing=True,
    ),
    answers(
        "of-what-was-ruled-out", "Until it was identified it counted.",
        recall(LOT_9), identify("2026-03-02 10:30", "L-10"), act(NOON), p3=None,
    ),
    answers("of-what-is-held", "Ruling 25: it is ground for a release.", recall(LOT_9), HELD, act(NOON), p3="L-10"),
    answers("voided", "Design 3.6: it had reached this.", recall(LOT_9), void("2026-03-02 10:30"), act(NOON)),
    answers(
        "voided-before-it-came", "Design 3.6: what came in later was never under it.",
        recall(LOT_9), void("2026-03-02 10:15"), swap("2026-03-02 10:30", "L-9"), act(NOON), nothing=True, p3="L-10",
    ),
    answers("rehearsed", "What is rehearsed may be answered.", recall(LOT_9, rehearsal=True), act(NOON)),
    answers("rehearsed-of-others", "If it is.", recall(LOT_9, rehearsal=True), act(NOON), nothing=True, p3="L-8"),
    Case(
        "recall-answered-of-one-that-came-later", "What its registration states was there before.",
        [recall(LOT_9), register(NOON, parts=stated(p3="L-8")), act("2026-03-02 11:30")], NOW, {},
        conflicts={"act": ["not-under-recall"]},
    ),
    Case(
        "recall-answered-of-one-that-came-later-unknown", "What it does not state may be meant.",
        [recall(LOT_9), register(NOON, parts=[]), identify("2026-03-02 11:10", "L-8"), act("2026-03-02 11:30")],
        NOW, {}, conflicts={"act": []},
    ),
    Case(
        "recall-answered-of-what-was-told-before-it-came", "What is told of the time before its registration counts.",
        [
            recall(LOT_9), swap("2026-03-02 10:30", "L-9"), register(NOON, parts=stated(p3="L-8")),
            act("2026-03-02 11:30"),
        ],
        NOW, {}, conflicts={"act": []},
    ),
    Case(
        "recall-answered-before-it-came", "What is told of the time before its registration counts, remedies too.",
        [recall(LOT_9), act("2026-03-02 10:30"), register(NOON, parts=[])], NOW, {},
        conflicts={"act": ["before-registration"]},
    ),
    Case(
        "recall-answered-before-it-came-of-what-that-states", "What its registration states was there before.",
        [recall(LOT_9), act("2026-03-02 10:30"), register(NOON, parts=stated(p3="L-9"))], NOW, {},
        conflicts={"act": ["before-registration"]},
    ),
    Case(
        "recall-answered-before-it-came-of-another", "So was what that states to be another.",
        [recall(LOT_9), act("2026-03-02 10:30"), register(NOON, parts=stated(p3="L-8"))], NOW, {},
        conflicts={"act": ["before-registration", "not-under-recall"]},
    ),
    Case(
        "recall-identified-before-it-came", "Ruling 25: what is known to be another is ground, also then.",
        [
            recall(LOT_9), HELD, identify("2026-03-02 10:45", "L-10"), register(NOON, parts=[]),
            release("2026-03-02 11:30"),
        ],
        NOW, {"A-1": {"phase": "in-store", "do_not_use": False}}, conflicts={"release": []},
    ),
    Case(
        "recall-answered-by-a-swap-before-it-came", "What it does not state may have been meant until it was swapped.",
        [recall(LOT_9), swap("2026-03-02 10:30", "L-8"), register(NOON, parts=[]), act("2026-03-02 11:30")], NOW, {},
        conflicts={"act": []},
    ),
    answers(
        "of-what-was-taken-out-as-that", "A swap names what sat there in its last moment, whatever was known.",
        recall(LOT_9), taken_out("2026-03-02 10:30", lot="L-9"), act(NOON), p3="L-8",
    ),
    answers(
        "of-what-was-taken-out-as-another", "Or names another.",
        recall(LOT_9), taken_out("2026-03-02 10:30", lot="L-7"), act(NOON), nothing=True, p3="L-8",
    ),
    Case(
        "recall-answered-of-a-unit-whose-day-was-told-later", "Until its day was stated it counted.",
        [
            register(), recall({"model": "hood", "made_to": "2025-01-01"}),
            register("2026-03-02 10:30", made_on="2025-06-01"), act(NOON),
        ],
        NOW, {}, conflicts={"act": []},
    ),
    answers("unknown", "Nobody opened it.", act(NOON), nothing=True),
    answers("closed", "Ruling 34: closing ends no effect.", recall(LOT_9), closed("2026-03-02 10:30"), act(NOON)),
]  # fmt: skip
RECALL = [
    *ANSWERED,
    says(
        "stop-use",
        "Design 4: a stop-use recall forbids the unit from its opening on, the reason is named, and its phase stays.",
        [*begun(p3="L-9"), recall(LOT_9)],
        {"A-1": {"phase": "issued", "standing": "do-not-use", "reasons": ["recall"], "do_not_use": True}},
    ),
    says(
        "not-before-it-opens",
        "Design 3.1: it holds from its own instant.",
        [*begun(p3="L-9"), recall(LOT_9)],
        CLEAR,
        "2026-03-02 09:59",
    ),
    says(
        "other-lot",
        "Ruling 33: without an affected part there is nothing to judge.",
        [*begun(p3="L-10"), recall(LOT_9)],
        CLEAR,
    ),
    says(
        "lots-in-order",
        "Ruling 34: lots order as text with runs of digits as numbers, so that L-10 lies behind L-9.",
        [*begun(p3="L-10"), recall({"item": "p3", "lot_from": "L-9", "lot_to": "L-11"})],
        STOPPED,
    ),
    says(
        "unknown-lot",
        "Design 4: a part of unknown lot counts as affected until identified.",
        [*begun(p3=None), recall(LOT_9)],
        STOPPED,
    ),
    says(
        "identified-outside",
        "Design 4: identified outside the criteria it is under the recall no more.",
        [*begun(p3=None), recall(LOT_9), identify("2026-03-02 11:00", "L-10")],
        CLEAR,
    ),
    says(
        "identified-inside",
        "Identified inside the criteria it stays.",
        [*begun(p3=None), recall(LOT_9), identify("2026-03-02 11:00", "l-09")],
        STOPPED,
    ),
    says(
        "position-never-stated",
        "Ruling 34: of a position that nothing was said of, what the model lists for it may sit there.",
        [register(), issue("2026-03-02 07:00"), recall({"item": "tube", "lot": "T-1"})],
        STOPPED,
    ),
    says(
        "received-before-its-moment",
        "Design 3.6: opened by a clock that is fast, it stops what it reaches as soon as it is received.",
        [*begun(p3="L-9"), recall(LOT_9, at="2026-03-02 10:04", received="2026-03-02 10:00")],
        STOPPED,
        "2026-03-02 10:01",
    ),
    says(
        "item-not-of-the-model",
        "An item that the model lists nowhere cannot sit in a position that nothing was said of.",
        [register(), issue("2026-03-02 07:00"), recall({"item": "abek"})],
        CLEAR,
    ),
    Case(
        "model-defined-anew",
        "A model defined anew changes no unit: what it listed when the unit was registered may still sit there.",
        [register(), issue("2026-03-02 07:00"), recall({"item": "p3", "lot": "L-9"}), OTHER_FILTER],
        "2026-03-03 09:00",
        STOPPED,
    ),
    Case(
        "registered-as-defined-anew",
        "What a model listed before the unit was registered never came with it.",
        [OTHER_FILTER, register("2026-03-02 20:00"), issue("2026-03-02 21:00"), recall({"item": "p3", "lot": "L-9"})],
        "2026-03-03 09:00",
        CLEAR,
    ),
    Case(
        "listed-later",
        "What the model lists since may have been put in unsaid.",
        [register(), issue("2026-03-02 07:00"), recall({"item": "p9"}), OTHER_FILTER],
        "2026-03-03 09:00",
        STOPPED,
    ),
    says(
        "registered-again-as-another-model",
        "Design 4, 3.3: which registration is wrong nobody says, so what the model before lists may sit there still.",
        [register(), issue("2026-03-02 07:00"), recall(LOT_9), AS_COWL],
        STOPPED,
        base=WITH_COWL,
    ),
    says(
        "listed-by-the-other-model",
        "What the present model alone lists may sit there, too, in a unit that may be of the model before.",
        [register(), issue("2026-03-02 07:00"), recall({"item": "abek-open", "model": "hood"}), AS_COWL],
        STOPPED,
        base=WITH_COWL,
    ),
    says(
        "listed-by-neither",
        "What neither of its models lists cannot sit there.",
        [register(), issue("2026-03-02 07:00"), recall({"item": "abek-30"}), AS_COWL],
        CLEAR,
        base=WITH_COWL,
    ),
    says(
        "named-as-the-other-model",
        "Whoever registers it again and says what sits there has said so, whichever model it is.",
        [
            *(register(), issue("2026-03-02 07:00"), recall(LOT_9)),
            as_cowl(parts=[{"position": FILTER, "part": part("p3", lot="L-10")}]),
        ],
        CLEAR,
        base=WITH_COWL,
    ),
    says(
        "model-taken-back",
        "Design 3.6, 3.3: to take back the only version of a model says of no unit what sits in it.",
        [register(), issue("2026-03-02 07:00"), recall(LOT_9), NO_HOOD],
        STOPPED,
        base=LABELLED,
    ),
    says(
        "model-taken-back-and-defined-anew",
        "A voided version never was: a model that is defined again lists what it lists now.",
        [register(), issue("2026-03-02 07:00"), recall(LOT_9), NO_HOOD, hood_of("2026-03-02 11:10", "p9")],
        CLEAR,
        base=LABELLED,
    ),
    says(
        "position-emptied",
        "A position that was emptied holds nothing.",
        [*begun(p3="L-9"), recall(LOT_9), tell("part-replaced", "2026-03-02 11:00", position=FILTER, reason="recall")],
        CLEAR,
    ),
    says(
        "of-the-unit",
        "A criterion without item, lot or expiry speaks of units: by model, serial, dates.",
        [*begun(), recall({"model": "hood", "serial_to": "s-a-2", "made_from": "2025-03-01", "made_to": "2025-03-31"})],
        STOPPED,
    ),
    says(
        "of-another-day",
        "All values of a criterion must match.",
        [*begun(), recall({"model": "hood", "made_from": "2025-03-02"})],
        CLEAR,
    ),
    says(
        "day-not-on-record",
        "Ruling 34: a value missing on the unit counts as matching.",
        [*begun(), recall({"model": "hood", "received_to": "2025-03-31"})],
        STOPPED,
    ),
    says(
        "any-of-the-list",
        "Ruling 34: any criterion of the list suffices.",
        [*begun(p3="L-9"), recall({"item": "abek"}, LOT_9)],
        STOPPED,
    ),
    says(
        "expiry",
        "An expiry that is a month may be any of its days.",
        [
            register(parts=[{"position": FILTER, "part": part("p3", expires="2027-03")}]),
            issue("2026-03-02 07:00"),
            recall({"item": "p3", "expires_from": "2027-03-31", "expires_to": "2027-03-31"}),
        ],
        STOPPED,
    ),
    says(
        "rectify-in-time",
        "Design 4: until the week before its day it is in date.",
        [*begun(p3="L-9"), recall(LOT_9, action="rectify-by", due_on="2026-03-20")],
        judged("in-date"),
    ),
    says(
        "rectify-soon",
        "Ruling 50: due soon seven days before it is overdue.",
        [*begun(p3="L-9"), recall(LOT_9, action="rectify-by", due_on="2026-03-20")],
        judged("due-soon"),
        "2026-03-14 00:00",
    ),
    says(
        "rectify-overdue",
        "Ruling 4: the day belongs to it, to its end where the unit is.",
        [*begun(p3="L-9"), recall(LOT_9, action="rectify-by", due_on="2026-03-20")],
        judged("overdue", "recall"),
        "2026-03-21 00:00",
    ),
    says(
        "rectify-on-the-last-day",
        "Ruling 4: on the last day it is due soon still.",
        [*begun(p3="L-9"), recall(LOT_9, action="rectify-by", due_on="2026-03-20")],
        judged("due-soon"),
        "2026-03-20 23:59",
    ),
    says(
        "inspect-without-a-day",
        "What is to be inspected without a day to do it by is overdue at once.",
        [*begun(p3="L-9"), recall(LOT_9, action="inspect")],
        judged("overdue", "recall"),
    ),
    says(
        "information",
        "Information asks nothing.",
        [*begun(p3="L-9"), recall(LOT_9, action="information")],
        judged("in-date"),
    ),
    says(
        "rehearsal",
        "A rehearsal changes no unit.",
        [*begun(p3="L-9"), recall(LOT_9, rehearsal=True)],
        CLEAR,
    ),
    says(
        "closed",
        "Ruling 34: closing ends the campaign, not its effect.",
        [*begun(p3="L-9"), recall(LOT_9), say("recall-closed", "2026-03-02 11:00", "m-2", recall="r-1")],
        STOPPED,
    ),
    says(
        "fixed",
        "Design 4: a remedy clears the part.",
        [*begun(p3="L-9"), recall(LOT_9), act("2026-03-02 11:00")],
        CLEAR,
    ),
    says(
        "fixed-before",
        "Ruling 3: what was done by the instant of the opening is no remedy of it.",
        [*begun(p3="L-9"), act(DOCK_NOON), recall(LOT_9)],
        STOPPED,
    ),
    says(
        "scrapped",
        "Scrapping is no remedy of what is fitted.",
        [*begun(p3="L-9"), recall(LOT_9), act("2026-03-02 11:00", "scrapped")],
        STOPPED,
    ),
    says(
        "refitted",
        "Design 4: a remedy clears only the part then fitted; another affected one is affected again.",
        [*begun(p3="L-9"), recall(LOT_9), act("2026-03-02 11:00"), swap("2026-03-02 11:30", "L-9")],
        STOPPED,
    ),
    says(
        "fixed-then-identified",
        "What was fixed stays so, whatever it turns out to be.",
        [*begun(p3=None), recall(LOT_9), act("2026-03-02 11:00"), identify("2026-03-02 11:30", "L-9")],
        CLEAR,
    ),
    says(
        "not-affected-then-identified",
        "What was held not to be affected is, where it turns out to be of the lot.",
        [*begun(p3=None), recall(LOT_9), act("2026-03-02 11:00", "not-affected"), identify("2026-03-02 11:30", "L-9")],
        STOPPED,
    ),
    says(
        "opened-again",
        "A recall opened again is open for what was remedied before.",
        [*begun(p3="L-9"), recall(LOT_9, at="2026-03-02 08:00"), act("2026-03-02 09:00"), recall(LOT_9)],
        STOPPED,
    ),
    says(
        "fitted-later",
        "Issue 5: units refitted with the lot later are caught by themselves.",
        [*begun(p3="L-10"), recall(LOT_9), swap("2026-03-02 11:00", "L-9")],
        STOPPED,
    ),
    says(
        "in-store",
        "Ruling 10: in store a stop-use recall still speaks, and against an issue.",
        [register(parts=stated(p3="L-9")), examine("2026-02-27 10:00"), recall(LOT_9)],
        {
            "A-1": {
                "standing": "out-of-scope",
                "do_not_use": True,
                "reasons": ["recall"],
                "ready_to_issue": {"ready": False, "reasons": ["recall"]},
            }
        },
    ),
    says(
        "overdue-in-store",
        "Ruling 10: in store what is overdue speaks against an issue alone.",
        [register(parts=stated(p3="L-9")), examine("2026-02-27 10:00"), recall(LOT_9, action="inspect")],
        {"A-1": {"do_not_use": False, "reasons": [], "ready_to_issue": {"ready": False, "reasons": ["recall"]}}},
    ),
    says(
        "of-a-component",
        "Ruling 51: what speaks against a component speaks against the unit it is fitted in.",
        [*begun(), register(tag="B-1", model="pack", fitted_to="A-1"), recall({"model": "pack"}, action="inspect")],
        {"A-1": {"standing": "do-not-use", "reasons": ["recall"]}, "B-1": {"do_not_use": True, "reasons": ["recall"]}},
    ),
    says(
        "component-taken-out",
        "Without the component nothing speaks any more.",
        [
            *begun(),
            register(tag="B-1", model="pack", fitted_to="A-1"),
            recall({"model": "pack"}),
            tell("part-replaced", "2026-03-02 11:00", position="battery", out={"serial": "S-B-1"}, reason="recall"),
        ],
        {"A-1": {"reasons": ["charge-unknown", "missing-part"]}},
    ),
    says(
        "ruled-out-is-ground",
        "Ruling 25: what is identified outside the criteria is ground for the recall's quarantine.",
        [
            *begun(p3=None),
            recall(LOT_9),
            tell("quarantined", "2026-03-02 10:30", reason="recall", recall="r-1"),
            identify("2026-03-02 11:00", "L-10"),
            release("2026-03-02 11:30"),
        ],
        {"A-1": {"phase": "in-store", "do_not_use": False, "reasons": []}},
        conflicts={"release": []},
    ),
    says(
        "ruled-out-too-early",
        "Ruling 43: the ground must be later than the newest quarantine of the reason.",
        [
            *begun(p3=None),
            recall(LOT_9),
            identify("2026-03-02 10:30", "L-10"),
            tell("quarantined", "2026-03-02 11:00", reason="recall", recall="r-1"),
            release("2026-03-02 11:30"),
        ],
        {"A-1": {"phase": "quarantined", "reasons": ["recall", "withdrawal"]}},
        conflicts={"release": ["released-without-ground"]},
    ),
    says(
        "another-part-identified",
        "Ruling 25: to identify what the recall does not speak of is no ground.",
        [
            *begun(p3="L-9"),
            recall(LOT_9),
            tell("quarantined", "2026-03-02 10:30", reason="recall", recall="r-1"),
            identify("2026-03-02 11:00", "T-1", TUBE, "tube"),
            release("2026-03-02 11:30"),
        ],
        {"A-1": {"phase": "quarantined", "reasons": ["recall", "withdrawal"]}},
        conflicts={"release": ["released-without-ground"]},
    ),
    says(
        "voided",
        "Design 3.6: voiding a recall ends nothing by itself.",
        [*begun(p3="L-9"), recall(LOT_9), void("2026-03-02 11:00")],
        STOPPED,
    ),
    says(
        "voided-then-fitted",
        "What comes in after the voiding was never under it.",
        [*begun(p3="L-10"), recall(LOT_9), void("2026-03-02 11:00"), swap("2026-03-02 11:30", "L-9")],
        CLEAR,
    ),
    says(
        "voided-then-examined",
        "Design 3.6: after the voiding a passing examination is a way out.",
        [*begun(p3="L-9"), recall(LOT_9), void("2026-03-02 11:00"), examine("2026-03-02 11:30")],
        CLEAR,
    ),
    says(
        "examined-then-voided",
        "An examination before the voiding is none.",
        [*begun(p3="L-9"), recall(LOT_9), examine("2026-03-02 10:30"), void("2026-03-02 11:00")],
        STOPPED,
    ),
    says(
        "released-on-the-voiding",
        "Design 3.6: so is a release that names the voiding, after a complete passing check by another person.",
        [
            *begun(p3="L-9"),
            recall(LOT_9),
            void("2026-03-02 11:00"),
            check("2026-03-02 11:10", by="p-3"),
            release("2026-03-02 11:30", voiding="@void", role="manager"),
        ],
        {"A-1": {"phase": "in-store", "holder": None, "do_not_use": False, "reasons": []}},
        conflicts={"release": []},
    ),
    says(
        "released-on-the-voiding-unchecked",
        "Ruling 26: without that check the unit stays under the recall.",
        [
            *begun(p3="L-9"),
            recall(LOT_9),
            void("2026-03-02 11:00"),
            release("2026-03-02 11:30", voiding="@void", role="manager"),
        ],
        {"A-1": {"phase": "issued", "do_not_use": True, "reasons": ["recall"]}},
    ),
    says(
        "quarantine-of-a-voided-recall",
        "Design 3.6: the quarantine of a recall that was voided ends on such a release, too.",
        [
            *begun(p3="L-9"),
            recall(LOT_9),
            tell("quarantined", "2026-03-02 10:30", reason="recall", recall="r-1"),
            void("2026-03-02 11:00"),
            check("2026-03-02 11:10", by="p-3"),
            release("2026-03-02 11:30", voiding="@void", role="manager"),
        ],
        {"A-1": {"phase": "in-store", "do_not_use": False, "reasons": []}},
        conflicts={"release": []},
    ),
    says(
        "quarantine-of-a-voided-recall-examined",
        "Design 3.6: or on a passing examination later than the voiding.",
        [
            *begun(p3="L-9"),
            recall(LOT_9),
            tell("quarantined", "2026-03-02 10:30", reason="recall", recall="r-1"),
            void("2026-03-02 11:00"),
            examine("2026-03-02 11:10"),
            release("2026-03-02 11:30"),
        ],
        {"A-1": {"phase": "in-store", "do_not_use": False, "reasons": []}},
        conflicts={"release": []},
    ),
    says(
        "voided-by-its-author",
        "Ruling 27: nobody takes their own recall back.",
        [*begun(p3="L-9"), recall(LOT_9), void("2026-03-02 11:00", by="m-2"), examine("2026-03-02 11:30")],
        STOPPED,
    ),
    says(
        "suspect-clock",
        "Ruling 9: opened by a wrong clock it is opened again at its receipt; what was done before is no remedy.",
        [
            *begun(p3="L-9"),
            recall(LOT_9, at="2026-03-02 08:00", received="2026-03-02 10:00", sent="2026-03-02 08:00"),
            act("2026-03-02 09:00"),
        ],
        STOPPED,
    ),
    says(
        "known-late",
        "Design 3.9: what was not recorded then was not known.",
        [*begun(p3="L-9"), recall(LOT_9)],
        CLEAR,
        known_after=4,
    ),
]
