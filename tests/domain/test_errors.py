"""The hierarchy of what the service refuses."""

from collections.abc import Iterator
from uuid import UUID

import pytest

from service.domain import errors
from service.domain.conflict import Conflict
from service.domain.errors import LedgerError
from service.domain.problem import Fault, Problem
from service.problems import LEDGER

#: One of each class that can be raised, and what it tells.
RAISED: tuple[tuple[LedgerError, Problem], ...] = (
    (
        errors.NotJson("The message is no JSON text."),
        Problem(code="not-json", detail="The message is no JSON text."),
    ),
    (
        errors.Malformed("/points/airflow", "must be pass or fail"),
        Problem(
            code="malformed",
            detail="/points/airflow: must be pass or fail",
            errors=(Fault("must be pass or fail", pointer="/points/airflow"),),
        ),
    ),
    (
        errors.InTheFuture("/occurred_at", "lies in the future"),
        Problem(
            code="in-the-future",
            detail="/occurred_at: lies in the future",
            errors=(Fault("lies in the future", pointer="/occurred_at"),),
        ),
    ),
    (
        errors.UnknownReference("/asset", "FX-9", waits=True),
        Problem(
            code="unknown-reference",
            detail="/asset: Nothing is defined under 'FX-9'. The message waits and is accepted when that arrives.",
            errors=(
                Fault(
                    "Nothing is defined under 'FX-9'. The message waits and is accepted when that arrives.",
                    pointer="/asset",
                ),
            ),
            members={"reference": "FX-9", "waits": True},
        ),
    ),
    (
        errors.UnsupportedModel("/device", "no airline units yet"),
        Problem(
            code="unsupported-model",
            detail="/device: no airline units yet",
            errors=(Fault("no airline units yet", pointer="/device"),),
        ),
    ),
    (
        errors.PolicyRefused("/values/interval", "at most P1M", "COSHH 2002 reg 9(3)"),
        Problem(
            code="policy-refused",
            detail="/values/interval: at most P1M",
            errors=(Fault("at most P1M", pointer="/values/interval"),),
            members={"clause": "COSHH 2002 reg 9(3)"},
        ),
    ),
    (
        errors.SiteNotAllowed("east-yard"),
        Problem(
            code="site-not-allowed",
            detail="/site: This key may not post for site 'east-yard': post it with a key that is bound to that site.",
            errors=(
                Fault(
                    "This key may not post for site 'east-yard': post it with a key that is bound to that site.",
                    pointer="/site",
                ),
            ),
        ),
    ),
    (
        errors.KindNotAllowed("retired", "site-app"),
        Problem(
            code="kind-not-allowed",
            detail="/kind: A key of role 'site-app' may not post 'retired'.",
            errors=(Fault("A key of role 'site-app' may not post 'retired'.", pointer="/kind"),),
        ),
    ),
    (
        errors.OwnAdverseEvent(),
        Problem(
            code="own-adverse-event",
            detail="/event: Nobody voids bad news of their own: another person does, with another key.",
            errors=(
                Fault("Nobody voids bad news of their own: another person does, with another key.", pointer="/event"),
            ),
        ),
    ),
    (
        errors.ContentClash(),
        Problem(
            code="content-clash",
            detail="/id: This id was used for other content. A new event needs a new id, a repeat the same content.",
            errors=(
                Fault(
                    "This id was used for other content. A new event needs a new id, a repeat the same content.",
                    pointer="/id",
                ),
            ),
        ),
    ),
    (
        errors.ContradictsHistory([Conflict("issued-while-missing"), Conflict("not-ready-to-issue", ("missing",))]),
        Problem(
            code="contradicts-history",
            detail="Nothing is recorded: issued while missing; issued although not ready to issue (missing). "
            "Look into it before doing this.",
            members={"conflicts": ("issued-while-missing", "not-ready-to-issue"), "reasons": ("missing",)},
        ),
    ),
    (
        errors.ContradictsHistory([Conflict("units-outstanding", count=2, assets=("FX-1", "FX-2"))]),
        Problem(
            code="contradicts-history",
            detail="Nothing is recorded: the recall still bears on units that no closing names with a reason "
            "(2 of them). Look into it before doing this.",
            members={"conflicts": ("units-outstanding",), "reasons": (), "assets": ("FX-1", "FX-2")},
        ),
    ),
    (
        errors.RecallNotOpen("rc-1", "rehearsal"),
        Problem(
            code="recall-not-open",
            detail="Nothing is ordered: recall 'rc-1' is a rehearsal, which changes no unit: look at what it reaches, "
            "or open a recall in earnest.",
            members={"state": "rehearsal"},
        ),
    ),
    (
        errors.TagTaken("/new_tag", "FX-1"),
        Problem(
            code="tag-taken",
            detail="/new_tag: Tag 'FX-1' is in use by another unit until that one is retagged or retired.",
            errors=(
                Fault(
                    "Tag 'FX-1' is in use by another unit until that one is retagged or retired.", pointer="/new_tag"
                ),
            ),
        ),
    ),
    (
        errors.Unauthenticated(),
        Problem(code="unauthenticated", detail="Send a key: 'Authorization: Bearer <key>'."),
    ),
    (
        errors.InvalidKey(),
        Problem(code="invalid-key", detail="This key is unknown, revoked or expired: ask an administrator for one."),
    ),
    (errors.Forbidden("Not for this role."), Problem(code="forbidden", detail="Not for this role.")),
    (
        errors.NotFound("asset"),
        Problem(
            code="not-found",
            detail="There is no such asset, or none that this key may see: /v1/assets lists those that it may see.",
        ),
    ),
    (
        errors.BadParameter("limit", "must be 1 or more", Fault("no such parameter", parameter="max")),
        Problem(
            code="bad-parameter",
            detail="2 things are wrong; each stands under 'errors' with its place.",
            errors=(Fault("must be 1 or more", parameter="limit"), Fault("no such parameter", parameter="max")),
        ),
    ),
    (
        errors.NotAcceptable(("application/json", "text/csv")),
        Problem(
            code="not-acceptable",
            detail="This address answers as application/json, text/csv: send 'Accept' with one of these, or leave it "
            "out.",
            members={"offered": ("application/json", "text/csv")},
        ),
    ),
    (
        errors.QuotaExceeded(7),
        Problem(
            code="quota-exceeded",
            detail="This key asks too often: go on in 7 s. What was answered before stands.",
            members={"retry_after": 7},
        ),
    ),
    (
        errors.BadCursor(),
        Problem(
            code="bad-cursor",
            detail="after: This cursor was not written for this question: use 'next' of the page before.",
            errors=(
                Fault(
                    "This cursor was not written for this question: use 'next' of the page before.", parameter="after"
                ),
            ),
        ),
    ),
    (
        errors.NotYetKnown(),
        Problem(
            code="not-yet-known",
            detail="known_at: Nobody knows yet what will have been recorded then: ask for a moment that is past.",
            errors=(
                Fault(
                    "Nobody knows yet what will have been recorded then: ask for a moment that is past.",
                    parameter="known_at",
                ),
            ),
        ),
    ),
    (
        errors.BadDocument.of([("/Order/cbc:ID", "is needed"), ("", "is a copy")]),
        Problem(
            code="bad-document",
            detail="2 things are wrong; each stands under 'errors' with its place.",
            errors=(Fault("is needed", at="/Order/cbc:ID"), Fault("is a copy", at="")),
        ),
    ),
    (
        errors.TooLarge("At most 1000 events.", 1000),
        Problem(code="too-large", detail="At most 1000 events.", members={"limit": 1000}),
    ),
    (
        errors.TooDeep("At most 32 levels.", 32),
        Problem(code="too-deep", detail="At most 32 levels.", members={"limit": 32}),
    ),
    (errors.UnsupportedMedia("Send JSON."), Problem(code="unsupported-media", detail="Send JSON.")),
    (
        errors.TooManyWaiting(10),
        Problem(
            code="too-many-waiting",
            detail="This key has 10 long polls and streams open, which is all it may have here: end some.",
            members={"retry_after": 1},
        ),
    ),
    (
        errors.VersionMismatch(7),
        Problem(
            code="version-mismatch",
            detail="The object is not at the version that the condition names: read it again, and send its new ETag.",
            members={"current": 7},
        ),
    ),
    (
        errors.VersionMismatch(None, errors.VersionMismatch.NONE_YET),
        Problem(
            code="version-mismatch",
            detail="There is no such object yet: leave 'If-Match' out, and send 'If-None-Match: *' to create it.",
            members={"current": None},
        ),
    ),
    (
        errors.PreconditionRequired(7),
        Problem(
            code="precondition-required",
            detail="Say which version you change: 'If-Match' with the ETag of your last read.",
            members={"current": 7},
        ),
    ),
    (
        errors.AlreadySettled(UUID("0198c1f2-7a10-7c3e-9b55-3f1d2ab40c01")),
        Problem(
            code="already-settled",
            detail="Rejected message 0198c1f2-7a10-7c3e-9b55-3f1d2ab40c01 is settled already: read it at "
            "/v1/rejected/0198c1f2-7a10-7c3e-9b55-3f1d2ab40c01.",
        ),
    ),
    (
        errors.NotKept(UUID("0198c1f2-7a10-7c3e-9b55-3f1d2ab40c01"), "fields"),
        Problem(
            code="not-kept",
            detail=(
                "The body of rejected message 0198c1f2-7a10-7c3e-9b55-3f1d2ab40c01 is not kept: have it sent again, "
                "or dismiss it."
            ),
            members={"kept": "fields"},
        ),
    ),
    (
        errors.ProposalState("pr-1", "placed", "PO-1", "Wait for the next."),
        Problem(
            code="proposal-state",
            detail="Nothing is recorded: proposal 'pr-1' is placed, as order 'PO-1'. Wait for the next.",
            members={"state": "placed", "order": "PO-1"},
        ),
    ),
    (
        errors.CannotBeWritten.of(
            errors.BadDocument("must be a code", Fault("must be a code", pointer="/lines/0/unit"))
        ),
        Problem(
            code="cannot-be-written",
            detail="/lines/0/unit: must be a code",
            errors=(Fault("must be a code", pointer="/lines/0/unit"),),
        ),
    ),
    (
        errors.ApprovalNeeded("pr-1", "5.00 GBP are beyond the cap of 4.00 GBP"),
        Problem(
            code="approval-needed",
            detail="Nothing is recorded: 5.00 GBP are beyond the cap of 4.00 GBP. Have a manager approve it at "
            "/v1/reorders/pr-1/approval, then send the same again.",
        ),
    ),
    (
        errors.WebhooksOff(),
        Problem(
            code="webhooks-off",
            detail="This service sends no webhooks: its operator sets RESPIRATORS_WEBHOOK_KEY to have it do so.",
        ),
    ),
    (
        errors.TooManyWebhooks(100),
        Problem(
            code="too-many-webhooks",
            detail="There are 100 webhooks, which is all an organisation may have: take one away first.",
            members={"limit": 100},
        ),
    ),
    (
        errors.TooManySecrets(3),
        Problem(
            code="too-many-secrets",
            detail=("3 older secrets sign still, as promised: wait until one ends, or end all with 'overlap_hours' 0."),
            members={"limit": 3},
        ),
    ),
    (
        errors.TooManyTrials(2),
        Problem(
            code="too-many-trials",
            detail="Nothing was sent: 2 tests of yours, or many of others, still wait for their receivers.",
            members={"retry_after": 20},
        ),
    ),
    (
        errors.WebhookIdTaken(),
        Problem(
            code="webhook-id-taken",
            detail="This id belongs to another webhook. A new one needs a new id, a repeat the same content.",
        ),
    ),
    (
        errors.Overloaded(),
        Problem(
            code="overloaded",
            detail="More messages wait to be recorded than can be held: send the same request again in 1 s.",
            members={"retry_after": 1},
        ),
    ),
    (
        errors.PositionNotReached(48211),
        Problem(
            code="position-not-reached",
            detail="Position 48211 has not arrived here yet: ask again in 1 s.",
            members={"retry_after": 1},
        ),
    ),
    (
        errors.CursorAhead(48211, 47950),
        Problem(
            code="cursor-ahead",
            detail="This log goes to 47950, and 48211 was read from another, or from this one before it was restored: "
            "begin anew, without 'after' and 'Last-Event-ID'.",
        ),
    ),
    (
        errors.Unavailable(),
        Problem(
            code="unavailable",
            detail="The service cannot reach its database: send the same request again in a moment.",
        ),
    ),
)


def descendants(family: type[LedgerError]) -> Iterator[type[LedgerError]]:
    """Walk the hierarchy as this module draws it, without what other rooms add."""
    for kind in family.__subclasses__():
        if kind.__module__ == errors.__name__:
            yield kind
            yield from descendants(kind)


def raisable() -> list[type[LedgerError]]:
    """List the classes that have a code of their own."""
    return [kind for kind in descendants(LedgerError) if "code" in vars(kind)]


@pytest.mark.parametrize(("error", "problem"), RAISED, ids=lambda value: getattr(value, "code", None))
def test_an_error_tells_its_story(error: LedgerError, problem: Problem) -> None:
    """An error told as a value has its code, its sentence, the places at fault and what a program reads."""
    assert error.problem() == problem
    assert str(error) == problem.detail


def test_a_reference_that_is_not_waited_for_says_so() -> None:
    """Nothing is promised of a message that does not wait."""
    error = errors.UnknownReference("/person", "p-9", waits=False)
    assert error.problem().detail == "/person: Nothing is defined under 'p-9'."
    assert error.problem().members == {"reference": "p-9", "waits": False}


def test_every_missing_reference_is_told() -> None:
    """Of several things that are not defined each is told with its place; a program reads the first."""
    error = errors.UnknownReference.of([("/site", "site:x"), ("/asset", "asset:y")], waits=False)
    assert error.problem() == Problem(
        code="unknown-reference",
        detail="2 things are wrong; each stands under 'errors' with its place.",
        errors=(
            Fault("Nothing is defined under 'site:x'.", pointer="/site"),
            Fault("Nothing is defined under 'asset:y'.", pointer="/asset"),
        ),
        members={"reference": "site:x", "waits": False},
    )
    assert error.references == ["site:x", "asset:y"]


def test_what_is_not_found_is_looked_for_where_it_is_listed() -> None:
    """Where there are few names they are told, where nothing lists them nothing is said; a parameter is named."""
    assert errors.NotFound("report", "the reports are a, b").problem().detail == (
        "There is no such report, or none that this key may see: the reports are a, b."
    )
    told = "There is no such object, or none that this key may see."
    assert errors.NotFound().problem() == Problem(code="not-found", detail=told)
    assert errors.NotFound(parameter="thing").problem().errors == (Fault(told, parameter="thing"),)


def test_every_error_is_tried() -> None:
    """Every class of the hierarchy that can be raised is tried above."""
    assert {type(error) for error, _ in RAISED} == set(raisable())


def test_every_code_has_one_class_and_one_status() -> None:
    """Each code belongs to one class, and each has a row in the table of statuses, which has no other."""
    codes = [kind.code for kind in raisable()]

    assert len(codes) == len(set(codes))
    assert set(codes) == set(LEDGER)


def test_every_error_is_drawn() -> None:
    """Every class stands in the drawing at the top of its file."""
    drawing = errors.__doc__ or ""

    assert [kind.__name__ for kind in descendants(LedgerError) if kind.__name__ not in drawing] == []
