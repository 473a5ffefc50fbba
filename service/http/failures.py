"""What becomes of an exception: a problem, and a line in the log where the service is at fault."""

from http import HTTPStatus

import psycopg
import structlog
from litestar.exceptions import HTTPException, ValidationException
from litestar.types import ExceptionHandlersMap
from psycopg import OperationalError
from psycopg.errors import IdleInTransactionSessionTimeout, LockNotAvailable, ReadOnlySqlTransaction

from service.domain.errors import LISTED, LedgerError, NotFound, Unavailable, UnsupportedMedia
from service.domain.problem import Problem
from service.http.answers import JSON, Answer
from service.http.limits import too_many_bytes
from service.http.negotiation import JSON_ALONE, NDJSON
from service.http.problems import refusal
from service.http.request import Asked
from service.problems import FAILED
from service.store.errors import is_passing

METHODS = "The header 'Allow' says which methods the address takes."
ADDRESSES = "'/openapi.json' lists the addresses there are."

BY_ID = frozenset({"event", "rejected message", "webhook"})
"""What has a UUID for a name in an address."""

log = structlog.get_logger()


def on_ledger_error(_: Asked, error: LedgerError) -> Answer:
    """Answer what the service says no to."""
    return refusal(error.problem())


def on_http_error(request: Asked, error: HTTPException) -> Answer:
    """Answer what the framework says no to; it judges nothing but the names in an address."""
    if isinstance(error, ValidationException):
        return refusal(not_named(request.scope["path"]).problem())
    match error.status_code:
        case HTTPStatus.METHOD_NOT_ALLOWED:
            return refusal(Problem(code="method-not-allowed", detail=METHODS), headers=error.headers)
        case HTTPStatus.NOT_FOUND:
            return refusal(Problem(code="no-such-address", detail=ADDRESSES))
        case HTTPStatus.REQUEST_ENTITY_TOO_LARGE:
            return refusal(too_many_bytes().problem())
        case status if status >= HTTPStatus.INTERNAL_SERVER_ERROR:
            return on_unexpected(request, error)
        case _:
            return refusal(Problem(code="bad-request", detail=error.detail))


def not_named(path: str) -> NotFound:
    """Give the error of an address whose name for something can be the name of none."""
    door = "/".join(path.split("/")[:3])
    what = next((what for what, listed in LISTED.items() if listed == door), "object")
    return NotFound(what, f"its id is a UUID, and {door} lists those that it may see" if what in BY_ID else "")


def on_database_error(request: Asked, error: psycopg.Error) -> Answer:
    """Answer that the database is away, if that is what happened."""
    if not is_passing(error):
        return on_unexpected(request, error)
    log.warning("database unavailable", why=why(error), exc_info=error)
    locked = isinstance(error, LockNotAvailable)
    return refusal(Unavailable(Unavailable.LOCKED if locked else Unavailable.UNREACHED).problem())


def on_read_only(_: Asked, error: ReadOnlySqlTransaction) -> Answer:
    """Answer that this process is given a replica, and records nothing."""
    log.warning("database is a replica", exc_info=error)
    return refusal(Unavailable(Unavailable.READ_ONLY).problem())


def why(error: psycopg.Error) -> str:
    """Say in the words of the database why it is away: they speak of connections and locks, never of what is in it."""
    return error.diag.message_primary or str(error).partition("\n")[0]


def on_unexpected(_: Asked, error: Exception) -> Answer:
    """Answer that the service failed, and log how; the sender learns nothing of its inside."""
    log.error("request failed", exc_info=error)
    return refusal(FAILED)


def on_unsupported_media(request: Asked, error: UnsupportedMedia) -> Answer:
    """Answer which media types the address reads."""
    opt = request.route_handler.opt
    media = tuple(opt["documents"]) if "documents" in opt else (JSON, NDJSON) if "streams" in opt else JSON_ALONE
    return refusal(error.problem(), headers={"Accept-Post": ", ".join(media)})


def failure(request: Asked, error: Exception) -> Answer:
    """Answer an exception as the framework would."""
    kind = next(kind for kind in type(error).__mro__ if kind in HANDLERS)
    answered: Answer = HANDLERS[kind](request, error)
    return answered


HANDLERS: ExceptionHandlersMap = {
    UnsupportedMedia: on_unsupported_media,
    LedgerError: on_ledger_error,
    HTTPException: on_http_error,
    OperationalError: on_database_error,
    IdleInTransactionSessionTimeout: on_database_error,
    ReadOnlySqlTransaction: on_read_only,
    Exception: on_unexpected,
}
