"""Conflicts: what contradicts the history. The closed list of codes.

A conflict never refuses a fact; it says that somebody should look.
"""

from uuid import UUID

import msgspec

CODES: dict[str, str] = {
    "before-registration": "the event lies before the unit's registration",
    "while-retired": "the unit was retired by then",
    "checked-while-retired": "checked although the unit was retired by then",
    "worn-while-quarantined": "worn while quarantined",
    "worn-while-missing": "worn while missing",
    "worn-while-at-service": "worn while away at service",
    "worn-while-retired": "worn while retired",
    "issued-while-quarantined": "issued while quarantined",
    "issued-while-missing": "issued while missing",
    "issued-while-at-service": "issued while away at service",
    "issued-while-retired": "issued while retired",
    "not-ready-to-issue": "issued although not ready to issue",
    "not-received": "seen at another site without having been received there",
    "unit-of-another-site": "an act of authority over a unit of a site that the key is not bound to",
    "received-without-move": "received without having been moved",
    "returned-without-holder": "returned although nobody held it",
    "released-without-ground": "released without the ground that each reason needs",
    "unknown-competence": "the person has no such competence on record at that moment",
    "self-granted-competence": "nobody grants themselves a competence",
    "own-adverse-event": "nobody voids their own report of a failure",
    "serial-known": "the serial number is already on record under another tag",
    "use-not-authorised": "a change of use needs a site lead or a manager",
    "no-such-row": "the report has no row of this name now at a site that the key reaches",
    "not-under-recall": "the recall bears on nothing of the unit itself, nor has it since it was opened",
    "units-outstanding": "the recall still bears on units that no closing names with a reason",
    "approval-without-authority": "neither a manager's nor within the cap and what is proposed: it counts for nothing",
    "order-without-approval": "ordered beyond what was approved, and beyond what needs no approval",
    "unknown-proposal": "no site and item that the key reaches has this proposal: it is no need's order or approval",
    "unknown-order": "no order of this number at a site that the key reaches: nothing is called off",
    "unknown-recall": "nobody has opened a recall of this name",
    "rehearsal-left-out": "the recall was opened in earnest before: this rehearsal under its name is left out",
    "reason-without-unit": "a reason that counts for nothing: at its sender's sites the recall bears on no such unit",
    "reason-given-twice": "two reasons for one unit: the last one counts",
}


class Conflict(msgspec.Struct, frozen=True, omit_defaults=True):
    """One contradiction of one event; `reasons` says more where the code alone does not.

    Where it is about units, `count` says of how many, as far as its sender may know, and `assets` names the first.
    """

    code: str
    reasons: tuple[str, ...] = ()
    count: int = 0
    assets: tuple[str, ...] = ()


UNKNOWN_RECALL = Conflict("unknown-recall")
REHEARSAL_LEFT_OUT = Conflict("rehearsal-left-out")
APPROVAL_WITHOUT_AUTHORITY = Conflict("approval-without-authority")
ORDER_WITHOUT_APPROVAL = Conflict("order-without-approval")
UNKNOWN_PROPOSAL = Conflict("unknown-proposal")
UNKNOWN_ORDER = Conflict("unknown-order")


class Contradiction(msgspec.Struct, frozen=True):
    """A conflict and the event it belongs to."""

    event: UUID
    conflict: Conflict
