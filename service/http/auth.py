"""Keys: who asks, and whether the route answers that role.

A route says with `may=` which roles it answers (`service.http.roles`); one that says nothing answers nobody.
"""

from datetime import datetime

from litestar.handlers import BaseRouteHandler

from service.domain.caller import Caller
from service.domain.errors import Forbidden, InvalidKey, Unauthenticated
from service.http.keyring import Keyring
from service.http.request import Asked, keyring_of, ledger_of
from service.http.roles import ANYONE
from service.ledger import Ledger
from service.store.find_key import FoundKey, find_key
from service.store.key_secret import key_hash


async def admit(request: Asked) -> None:
    """Find out who asks, and let pass whom the route answers. Raises Unauthenticated, InvalidKey or Forbidden."""
    may = request.route_handler.opt.get("may", frozenset())
    if may is ANYONE:
        return
    keyring = keyring_of(request) if looks_again(request.route_handler) else None
    caller = await caller_of(ledger_of(request), bearer(request.headers.get("authorization")), keyring)
    request.scope["auth"] = caller
    if caller.role not in may:
        detail = f"A key of role {caller.role!r} gets no answer here. Roles that do: {', '.join(sorted(may))}."
        raise Forbidden(detail)


def bearer(header: str | None) -> str:
    """Take the key out of an Authorization header (RFC 6750 section 2.1)."""
    scheme, _, secret = (header or "").strip().partition(" ")
    if scheme.lower() != "bearer":
        raise Unauthenticated
    return secret.strip()


def looks_again(route: BaseRouteHandler) -> bool:
    """Say whether a route has the key looked at again as it records; what was kept is tried with its sender's key."""
    return "records" in route.opt and "settles" not in route.opt


async def caller_of(ledger: Ledger, secret: str, keyring: Keyring | None = None) -> Caller:
    """Give the caller whose key this is; with a keyring, if it was found of late, as it was then. Raises InvalidKey."""
    hashed = key_hash(secret)
    if hashed is None:
        raise InvalidKey
    now = ledger.clock()
    found = None if keyring is None else keyring.find(hashed, now)
    if found is None:
        async with ledger.pool.connection() as conn:
            found = await find_key(conn, hashed)
        if found is not None and keyring is not None:
            keyring.remember(hashed, found, now)
    if found is None or not is_valid(found, now):
        raise InvalidKey
    return Caller(
        organisation=found.organisation,
        key=found.id,
        role=found.role,
        sites=None if found.sites is None else frozenset(found.sites),
        expires_at=found.expires_at,
    )


def is_valid(key: FoundKey, now: datetime) -> bool:
    """Say whether a key is neither revoked nor expired."""
    return key.revoked_at is None and (key.expires_at is None or now < key.expires_at)
