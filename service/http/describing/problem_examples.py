"""An example of every problem, told by the error that is answered with it."""

from typing import Final
from uuid import UUID

from service.domain import errors
from service.domain.conflict import Conflict
from service.domain.errors import LedgerError
from service.domain.problem import Fault, Problem
from service.http.body import IncompleteBody
from service.http.coding import BrokenCoding
from service.http.failures import ADDRESSES, METHODS
from service.http.idempotency import AnotherRequest
from service.http.limits import MAX_LEVELS, too_many_bytes
from service.problems import FAILED, described
from service.reference.units import unit_wrong

REJECTED: Final = UUID("0198c1f2-9000-7000-8000-0000000000e1")

UNIT: Final = str(unit_wrong("box"))

ERRORS: Final[tuple[LedgerError, ...]] = (
    errors.NotJson("A text in it is not UTF-8: send JSON in UTF-8."),
    errors.Malformed("/colour", "no such field here"),
    errors.InTheFuture("/occurred_at", "This lies more than 5 minutes after its receipt: set the sender's clock."),
    errors.UnknownReference("/asset", "asset:FX-0999", waits=True),
    errors.UnsupportedModel("/device", "Airline and cylinder units cannot be kept yet."),
    errors.PolicyRefused("/values/interval/routine", "At most P1M is allowed for this use.", "COSHH 2002 reg 9(3)"),
    errors.SiteNotAllowed("east-yard"),
    errors.KindNotAllowed("site-defined", "site-app"),
    errors.OwnAdverseEvent(),
    errors.ContentClash(),
    errors.TagTaken("/asset", "FX-0142"),
    errors.ContradictsHistory([Conflict("not-ready-to-issue", ("withdrawal",))]),
    errors.Unauthenticated(),
    errors.InvalidKey(),
    errors.Forbidden("A key of role 'integrator' gets no answer here. Roles that do: auditor, manager."),
    errors.NotFound("asset"),
    errors.BadParameter("sitee", "There is no such parameter here. Known: after, limit, site."),
    errors.BadDocument.of([("/Order/cac:OrderLine[2]/cac:LineItem/cbc:Quantity/@unitCode", "is needed")]),
    errors.BadCursor(),
    errors.NotYetKnown(),
    too_many_bytes(),
    errors.TooDeep(f"JSON may be nested {MAX_LEVELS} levels deep here; no event needs more.", MAX_LEVELS),
    errors.UnsupportedMedia("Send JSON: 'Content-Type: application/json', not 'text/xml'."),
    errors.NotAcceptable(("application/json", "text/csv")),
    errors.QuotaExceeded(12),
    errors.TooManyWaiting(10),
    errors.VersionMismatch(48211),
    errors.PreconditionRequired(48211),
    errors.AlreadySettled(REJECTED),
    errors.NotKept(REJECTED, "fields"),
    errors.RecallNotOpen("rc-2026-01", "closed"),
    errors.ProposalState("pr-2f0c9d1be07a45c8a1d3", "placed", "PO/2026/0071", "To order more, wait for the next."),
    errors.CannotBeWritten.of(errors.BadDocument(UNIT, Fault(UNIT, pointer="/lines/0/unit"))),
    errors.ApprovalNeeded("pr-2f0c9d1be07a45c8a1d3", "1104.00 GBP are beyond the cap of 500.00 GBP"),
    errors.WebhooksOff(),
    errors.TooManyWebhooks(100),
    errors.TooManySecrets(3),
    errors.TooManyTrials(2),
    errors.WebhookIdTaken(),
    errors.Overloaded(),
    errors.PositionNotReached(48211),
    errors.CursorAhead(48211, 47950),
    errors.Unavailable(),
    IncompleteBody(),
    AnotherRequest(),
    BrokenCoding("gzip"),
)
PROTOCOL: Final = (
    Problem(code="no-such-address", detail=ADDRESSES),
    Problem(code="method-not-allowed", detail=METHODS),
    Problem(code="bad-request", detail="The request is not one of HTTP."),
    FAILED,
)
EXAMPLES: Final[dict[str, dict[str, object]]] = {
    problem.code: described(problem) for problem in (*(error.problem() for error in ERRORS), *PROTOCOL)
}
"""What is answered, by the problem's code."""


def components(paths: str) -> dict[str, dict[str, object]]:
    """Give the examples that these paths, as text, point to."""
    return {
        code: {"summary": told["title"], "value": told}
        for code, told in EXAMPLES.items()
        if f'#/components/examples/{code}"' in paths
    }
