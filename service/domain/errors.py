"""What the service refuses, and why: the story of each error. Which status it has is the business of `service.http`.

LedgerError
|-- Refused                 a posted message that is not accepted and kept as a rejected message
|   |-- NotJson             the bytes are no JSON text
|   |-- ContradictsHistory  what was to be recorded only if nothing contradicts it; alone of these it is not kept
|   `-- AtField             one field of the message is at fault
|       |-- Malformed           JSON, but not an event of its kind
|       |-- InTheFuture         occurred more than five minutes after its receipt
|       |-- UnknownReference    names an asset, model, site or event that is not defined; may wait for it
|       |-- UnsupportedModel    a kind of unit whose rules are not built yet
|       |-- PolicyRefused       a policy that the law's profile does not allow
|       |-- SiteNotAllowed      a site that the key is not bound to
|       |-- KindNotAllowed      a kind that the key's role may not post
|       |-- OwnAdverseEvent     voiding bad news that one posted oneself
|       |-- ContentClash        the id is taken by other content
|       `-- TagTaken            the tag is in use by another unit
|-- Unauthenticated         no key came with the request
|   `-- InvalidKey          a key did, but it is not valid now
|-- Forbidden               a key whose role or sites do not reach that far
|-- NotFound                nothing of that name that this key may see
|-- BadParameter            a query parameter or header that is not understood
|   |-- BadCursor           a cursor that this service did not write for this question
|   `-- NotYetKnown         a question about what will have been recorded later than now
|-- BadDocument             an order, a response, a despatch or a receipt that cannot be read
|-- OverLimit               more than one request may carry; such a body is not kept
|   |-- TooLarge            too many bytes or events
|   `-- TooDeep             JSON nested deeper than any event
|-- UnsupportedMedia        a body in a form that this route does not read
|-- NotAcceptable           an answer in no form that this route gives
|-- QuotaExceeded           more requests than a key may make in a while
|-- TooManyWaiting          more long polls and streams than a key may hold open
|-- AtVersion               a change and the version it starts from
|   |-- VersionMismatch     the object has changed since the sender read it
|   `-- PreconditionRequired    the change does not say which version it changes
|-- AlreadySettled          a rejected message that has been accepted or dismissed already
|-- NotKept                 a rejected message of which too little is kept to try it again
|-- RecallNotOpen           a recall that was closed, taken back or only rehearsed: it stops no unit
|-- ProposalState           a proposal that is too far, or not far enough, for what is to be done
|-- CannotBeWritten         what is on record of an order and no document can say
|-- ApprovalNeeded          an order beyond what was approved and what needs no approval
|-- WebhooksOff             what signs for webhooks, where the operator has set no key to do it with
|-- TooManyWebhooks         more webhooks than an organisation may have
|-- TooManySecrets          more secrets of a webhook than may sign at a time
|-- TooManyTrials           more trials of receivers than an organisation may have on their way
|-- WebhookIdTaken          the id of a new webhook belongs to another one
|-- Overloaded              more waits to be recorded than the service takes on
|-- PositionNotReached      an answer that should hold more of the log than there is
|-- CursorAhead             a place in the log that it has not come to: of another log, or of one that was restored
`-- Unavailable             the database does not answer for now, records nothing, or others have what is needed

A class with a `code` can be raised; one without only gathers others.
"""

from collections.abc import Iterable, Sequence
from typing import ClassVar, Final, Literal
from uuid import UUID

from msgspec.structs import replace
from typing_extensions import override

from service.domain.conflict import CODES, Conflict
from service.domain.problem import Fault, Problem

LISTED: Final = {
    "asset": "/v1/assets",
    "event": "/v1/events",
    "rejected message": "/v1/rejected",
    **{sort: f"/v1/{sort}s" for sort in ("site", "model", "item", "task", "instrument", "device", "recall")},
    "webhook": "/v1/webhooks",
    "proposal": "/v1/reorders",
    "policy": "/v1/policies",
}
"""Where what may not be found is listed."""


class LedgerError(Exception):
    """Anything the service says no to. `code` names the class for good; `shown` are the attributes a program reads."""

    code: ClassVar[str]
    shown: ClassVar[tuple[str, ...]] = ()

    def __init__(self, detail: str, *faults: Fault) -> None:
        super().__init__(detail)
        self.detail = detail
        self.faults = faults

    @override
    def __str__(self) -> str:
        """Tell the whole in a sentence: one fault with its place, of several how many there are."""
        if len(self.faults) > 1:
            return f"{len(self.faults)} things are wrong; each stands under 'errors' with its place."
        place = self.faults[0].place if self.faults else ""
        return f"{place}: {self.detail}" if place else self.detail

    def problem(self) -> Problem:
        """Tell the error as a value."""
        members = {name: getattr(self, name) for name in self.shown}
        return Problem(code=self.code, detail=str(self), errors=self.faults, members=members)


class Refused(LedgerError):
    """A posted message that is not accepted: nothing of it is written to the log, and its body is kept."""


class NotJson(Refused):
    """The bytes are no JSON text (RFC 8259)."""

    code = "not-json"


class AtField(Refused):
    """One field of the message is at fault: `pointer` says which, "" the whole message."""

    def __init__(self, pointer: str, detail: str) -> None:
        super().__init__(detail, Fault(detail, pointer=pointer))
        self.pointer = pointer


class Malformed(AtField):
    """JSON, but not an event of its kind; `faults` are all that was found, the first of them in `pointer`."""

    code = "malformed"

    @classmethod
    def of(cls, found: Sequence[tuple[str, str]]) -> "Malformed":
        """Make the error of one or more faults, each a pointer and a sentence."""
        error = cls(*found[0])
        error.faults = tuple(Fault(detail, pointer=pointer) for pointer, detail in found)
        return error


class InTheFuture(AtField):
    """Occurred more than five minutes after its receipt (design 3.8)."""

    code = "in-the-future"


class UnknownReference(AtField):
    """Names something that is not defined; with `waits` it is accepted by itself when that arrives (R46).

    `references` are all that is missing, `reference` the first of it.
    """

    code = "unknown-reference"
    shown = ("reference", "waits")

    def __init__(self, pointer: str, reference: str, *, waits: bool) -> None:
        waiting = " The message waits and is accepted when that arrives." if waits else ""
        super().__init__(pointer, f"Nothing is defined under {reference!r}.{waiting}")
        self.reference = reference
        self.references = [reference]
        self.waits = waits

    @classmethod
    def of(cls, found: Sequence[tuple[str, str]], *, waits: bool) -> "UnknownReference":
        """Make the error of one or more references, each with its pointer."""
        every = [cls(pointer, reference, waits=waits) for pointer, reference in found]
        every[0].faults = tuple(fault for one in every for fault in one.faults)
        every[0].references = [one.reference for one in every]
        return every[0]


class UnsupportedModel(AtField):
    """A kind of unit whose rules are not built yet: refused by name rather than judged by half."""

    code = "unsupported-model"


class PolicyRefused(AtField):
    """A policy value that the law's profile does not allow (R50)."""

    code = "policy-refused"
    shown = ("clause",)

    def __init__(self, pointer: str, detail: str, clause: str) -> None:
        super().__init__(pointer, detail)
        self.clause = clause

    @classmethod
    def of(cls, found: Sequence[tuple[str, str, str]]) -> "PolicyRefused":
        """Make the error of one or more values, each with pointer, sentence and clause: that of the first is named."""
        error = cls(*found[0])
        error.faults = tuple(Fault(detail, pointer=pointer) for pointer, detail, _ in found)
        return error


class SiteNotAllowed(AtField):
    """An event for a site that the key is not bound to (R38); one that the sender did not name is not named to it."""

    code = "site-not-allowed"

    def __init__(self, site: str | None, pointer: str = "/site") -> None:
        reach = "beyond its sites" if site is None else f"for site {site!r}"
        super().__init__(pointer, f"This key may not post {reach}: post it with a key that is bound to that site.")


class KindNotAllowed(AtField):
    """A kind that the key's role may not post (R37)."""

    code = "kind-not-allowed"

    def __init__(self, kind: str, role: str, may: Sequence[str] = ()) -> None:
        others = f" Roles that may: {', '.join(may)}." if may else ""
        super().__init__("/kind", f"A key of role {role!r} may not post {kind!r}.{others}")


class OwnAdverseEvent(AtField):
    """Voiding bad news that one posted oneself (R27)."""

    code = "own-adverse-event"

    def __init__(self) -> None:
        super().__init__("/event", "Nobody voids bad news of their own: another person does, with another key.")


class ContentClash(AtField):
    """The id is taken by other content, of which nothing is said: the sender may not be allowed to read it."""

    code = "content-clash"

    def __init__(self) -> None:
        super().__init__(
            "/id", "This id was used for other content. A new event needs a new id, a repeat the same content."
        )


class TagTaken(AtField):
    """The tag is in use by another unit (R47)."""

    code = "tag-taken"

    def __init__(self, pointer: str, tag: str) -> None:
        super().__init__(pointer, f"Tag {tag!r} is in use by another unit until that one is retagged or retired.")


class ContradictsHistory(Refused):
    """It contradicts the history, and its sender asked for strict handling: nothing of it is recorded or kept.

    `conflicts` are codes of `domain/conflict.py`, `reasons` say more of them; `assets` are the units they name.
    """

    code = "contradicts-history"
    shown = ("conflicts", "reasons")

    def __init__(self, found: Iterable[Conflict]) -> None:
        every = tuple(found)
        self.conflicts = tuple(one.code for one in every)
        self.reasons = tuple(reason for one in every for reason in one.reasons)
        what = "; ".join(CODES[code] for code in self.conflicts) or "what is on record of the unit speaks against it"
        self.assets = tuple(asset for one in every for asset in one.assets)
        words = (*self.reasons, *(f"{one.count} of them" for one in every if one.count))
        because = f" ({', '.join(words)})" if words else ""
        super().__init__(f"Nothing is recorded: {what}{because}. Look into it before doing this.")

    @override
    def problem(self) -> Problem:
        """Tell the error as a value, with the units where it names any."""
        told = super().problem()
        return replace(told, members=told.members | {"assets": self.assets}) if self.assets else told


class Unauthenticated(LedgerError):
    """No key came with the request."""

    code = "unauthenticated"

    def __init__(self, detail: str = "Send a key: 'Authorization: Bearer <key>'.") -> None:
        super().__init__(detail)


class InvalidKey(Unauthenticated):
    """A key that is not valid now; the same is said of unknown, revoked and expired ones."""

    code = "invalid-key"

    def __init__(self) -> None:
        super().__init__("This key is unknown, revoked or expired: ask an administrator for one.")


class Forbidden(LedgerError):
    """The key is valid, but its role or its sites do not reach that far."""

    code = "forbidden"


class NotFound(LedgerError):
    """Nothing of that name that this key may see; whether another key would see it is not said.

    `known` are the names there are, or where to look for them; `parameter` is where it was asked for, if in a query,
    and `named` which of those asked for it is.
    """

    code = "not-found"

    def __init__(
        self, what: str = "object", known: str = "", parameter: str | None = None, named: str | None = None
    ) -> None:
        called = what if named is None else f"{what} as {named}"
        listed = f"{LISTED[what]} lists those that it may see" if what in LISTED else ""
        detail = f"There is no such {called}, or none that this key may see: {known or listed}".removesuffix(": ") + "."
        super().__init__(detail, *([] if parameter is None else [Fault(detail, parameter=parameter)]))


class BadParameter(LedgerError):
    """A query parameter or header that is unknown, repeated or not understood; `more` are further ones."""

    code = "bad-parameter"

    def __init__(self, parameter: str, detail: str, *more: Fault) -> None:
        super().__init__(detail, Fault(detail, parameter=parameter), *more)


class BadCursor(BadParameter):
    """A cursor that this service did not write, or wrote for another question."""

    code = "bad-cursor"

    def __init__(self, parameter: str = "after") -> None:
        super().__init__(parameter, "This cursor was not written for this question: use 'next' of the page before.")


class NotYetKnown(BadParameter):
    """A question about what will have been recorded at a moment that has not come."""

    code = "not-yet-known"

    def __init__(self, parameter: str = "known_at") -> None:
        super().__init__(
            parameter, "Nobody knows yet what will have been recorded then: ask for a moment that is past."
        )


class BadDocument(LedgerError):
    """An order, a response, a despatch or a receipt, in UBL or as a table, that cannot be read; nothing of it is taken.

    Its faults stand with their places, "" the whole document.
    """

    code = "bad-document"

    @classmethod
    def of(cls, found: Iterable[tuple[str, str]]) -> "BadDocument":
        """Make the error of one or more faults, each a place and a sentence."""
        faults = tuple(Fault(detail, at=place) for place, detail in found)
        return cls(faults[0].detail, *faults)


class OverLimit(LedgerError):
    """More than one request may carry. Such a body is not kept."""

    shown = ("limit",)

    def __init__(self, detail: str, limit: int) -> None:
        super().__init__(detail)
        self.limit = limit


class TooLarge(OverLimit):
    """Too many bytes or events."""

    code = "too-large"


class TooDeep(OverLimit):
    """JSON nested deeper than any event."""

    code = "too-deep"


class UnsupportedMedia(LedgerError):
    """A body in a form that this route does not read. Such a body is not kept."""

    code = "unsupported-media"


class NotAcceptable(LedgerError):
    """An answer was asked for in no form that this route gives; `offered` are those it has."""

    code = "not-acceptable"
    shown = ("offered",)

    def __init__(self, offers: Sequence[str]) -> None:
        self.offered = tuple(offers)
        forms = ", ".join(self.offered)
        super().__init__(f"This address answers as {forms}: send 'Accept' with one of these, or leave it out.")


class QuotaExceeded(LedgerError):
    """More requests than a key may make in a while; `retry_after` is in seconds."""

    code = "quota-exceeded"
    shown = ("retry_after",)

    def __init__(self, retry_after: int) -> None:
        super().__init__(f"This key asks too often: go on in {retry_after} s. What was answered before stands.")
        self.retry_after = retry_after


class TooManyWaiting(LedgerError):
    """More long polls and streams than a key may hold open at a time; `retry_after` is in seconds."""

    code = "too-many-waiting"
    shown = ("retry_after",)

    def __init__(self, most: int, retry_after: int = 1) -> None:
        super().__init__(f"This key has {most} long polls and streams open, which is all it may have here: end some.")
        self.retry_after = retry_after


class AtVersion(LedgerError):
    """A change and the version it starts from; `current` is the one the object has now, None where there is none."""

    shown = ("current",)

    def __init__(self, detail: str, current: int | None) -> None:
        super().__init__(detail)
        self.current = current


class VersionMismatch(AtVersion):
    """The object is not at the version that a condition names; `why` says more where it is no change in between."""

    code = "version-mismatch"

    CHANGED: ClassVar[str] = (
        "The object is not at the version that the condition names: read it again, and send its new ETag."
    )
    NONE_YET: ClassVar[str] = (
        "There is no such object yet: leave 'If-Match' out, and send 'If-None-Match: *' to create it."
    )
    THERE: ClassVar[str] = "It exists already: change it with 'If-Match' and the ETag of your last read."
    WEAK: ClassVar[str] = (
        "A weak tag (W/) never serves 'If-Match': send a strong one, or leave 'If-Match' out of a read."
    )

    def __init__(self, current: int | None, why: str = CHANGED) -> None:
        super().__init__(why, current)


class PreconditionRequired(AtVersion):
    """The change does not say which version it changes."""

    code = "precondition-required"

    def __init__(self, current: int) -> None:
        super().__init__("Say which version you change: 'If-Match' with the ETag of your last read.", current)


class AlreadySettled(LedgerError):
    """A rejected message that has been accepted or dismissed already."""

    code = "already-settled"

    def __init__(self, rejected: UUID) -> None:
        super().__init__(f"Rejected message {rejected} is settled already: read it at /v1/rejected/{rejected}.")


class NotKept(LedgerError):
    """A rejected message of which too little is kept to try it again; `kept` says what is left."""

    code = "not-kept"
    shown = ("kept",)

    def __init__(self, rejected: UUID, kept: str) -> None:
        super().__init__(f"The body of rejected message {rejected} is not kept: have it sent again, or dismiss it.")
        self.kept = kept


class RecallNotOpen(LedgerError):
    """A recall by which no unit can be ordered out of use; `state` says why."""

    code = "recall-not-open"
    shown = ("state",)

    WHY: ClassVar[dict[str, str]] = {
        "closed": "is closed. What it bears on stays under it; to stop units, open it again with a 'recall-opened' of "
        "the same name, or void the 'recall-closed'",
        "voided": "was taken back. What it had reached stays under it until its own way out; if there is a reason to "
        "stop units, open a recall for that",
        "rehearsal": "is a rehearsal, which changes no unit: look at what it reaches, or open a recall in earnest",
    }

    def __init__(self, recall: str, state: Literal["closed", "voided", "rehearsal"]) -> None:
        super().__init__(f"Nothing is ordered: recall {recall!r} {self.WHY[state]}.")
        self.state = state


class ProposalState(LedgerError):
    """A proposal that is too far, or not far enough, for what is to be done; `order` is what it became, if anything."""

    code = "proposal-state"
    shown = ("state", "order")

    NOTHING_DONE: ClassVar = "Nothing is recorded"
    NO_DOCUMENT: ClassVar = "There is no such document"

    def __init__(self, proposal: str, state: str, order: str | None, instead: str, *, so: str = NOTHING_DONE) -> None:
        became = f"proposal {proposal!r} is {state}" + ("" if order is None else f", as order {order!r}")
        super().__init__(f"{so}: {became}. {instead}")
        self.state = state
        self.order = order


class CannotBeWritten(LedgerError):
    """What is on record of an order and no document can say; its faults have pointers into the events behind it."""

    code = "cannot-be-written"

    @classmethod
    def of(cls, error: BadDocument) -> "CannotBeWritten":
        """Make the error of what is wrong with the document that would be written."""
        return cls(error.detail, *error.faults)


class ApprovalNeeded(LedgerError):
    """An order beyond what was approved and what needs no approval; `why` says by what.

    `known` is the approval of less that there is: a proposal has one, so that it is taken back first.
    """

    code = "approval-needed"

    def __init__(self, proposal: str, why: str, known: UUID | None = None) -> None:
        first = "" if known is None else f"void event {known} and "
        super().__init__(
            f"Nothing is recorded: {why}. Have a manager {first}approve it at /v1/reorders/{proposal}/approval, then "
            "send the same again."
        )


class WebhooksOff(LedgerError):
    """The operator has set no key that the secrets of webhooks come from, so that nothing can be signed."""

    code = "webhooks-off"

    def __init__(self) -> None:
        super().__init__("This service sends no webhooks: its operator sets RESPIRATORS_WEBHOOK_KEY to have it do so.")


class TooManyWebhooks(LedgerError):
    """More webhooks than an organisation may have."""

    code = "too-many-webhooks"
    shown = ("limit",)

    def __init__(self, limit: int) -> None:
        super().__init__(f"There are {limit} webhooks, which is all an organisation may have: take one away first.")
        self.limit = limit


class TooManySecrets(LedgerError):
    """More secrets of a webhook than may sign at a time; `limit` of the older ones may."""

    code = "too-many-secrets"
    shown = ("limit",)

    def __init__(self, limit: int) -> None:
        super().__init__(
            f"{limit} older secrets sign still, as promised: wait until one ends, or end all with 'overlap_hours' 0."
        )
        self.limit = limit


class TooManyTrials(LedgerError):
    """More trials of receivers than an organisation may have on their way; `retry_after` is in seconds."""

    code = "too-many-trials"
    shown = ("retry_after",)

    def __init__(self, most: int, retry_after: int = 20) -> None:
        super().__init__(f"Nothing was sent: {most} tests of yours, or many of others, still wait for their receivers.")
        self.retry_after = retry_after


class WebhookIdTaken(LedgerError):
    """The id of a new webhook belongs to another one."""

    code = "webhook-id-taken"

    def __init__(self) -> None:
        super().__init__("This id belongs to another webhook. A new one needs a new id, a repeat the same content.")


class Overloaded(LedgerError):
    """More of an organisation waits to be recorded than the service takes on; `retry_after` is in seconds."""

    code = "overloaded"
    shown = ("retry_after",)

    def __init__(self, retry_after: int = 1) -> None:
        super().__init__(
            f"More messages wait to be recorded than can be held: send the same request again in {retry_after} s."
        )
        self.retry_after = retry_after


class PositionNotReached(LedgerError):
    """The answer was to hold the log up to a position that did not come in time; `retry_after` is in seconds."""

    code = "position-not-reached"
    shown = ("retry_after",)

    def __init__(self, position: int, retry_after: int = 1) -> None:
        super().__init__(f"Position {position} has not arrived here yet: ask again in {retry_after} s.")
        self.retry_after = retry_after


class CursorAhead(LedgerError):
    """The feed is to go on from a place that the log, which goes to `head`, has not come to."""

    code = "cursor-ahead"

    def __init__(self, after: int, head: int) -> None:
        super().__init__(
            f"This log goes to {head}, and {after} was read from another, or from this one before it was "
            "restored: begin anew, without 'after' and 'Last-Event-ID'."
        )


class Unavailable(LedgerError):
    """`why` it cannot be done for now. The same request may be sent again: what was written is only repeated."""

    code = "unavailable"
    UNREACHED: ClassVar = "The service cannot reach its database"
    READ_ONLY: ClassVar = "The database behind this process is a replica, which records nothing"
    CONTENDED: ClassVar = "Others kept recording about the same at the same time"
    LOCKED: ClassVar = "Others had kept what this needs to themselves for too long, as a rebuild or a large recall does"

    def __init__(self, why: str = UNREACHED) -> None:
        super().__init__(f"{why}: send the same request again in a moment.")
