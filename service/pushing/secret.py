"""The signing secret of a webhook, which is computed and never stored.

Whoever has a copy of the database, a backup say, could sign as this service if secrets stood in it. So a webhook has
only a salt there; its secret is HMAC-SHA-256 of the salt by a key that the operator gives each process
(RESPIRATORS_WEBHOOK_KEY). The mark beside the salt, a piece of the secret's hash, tells whether the key is still the
one that it was shown with: a wrong secret is never signed with.
"""

import base64
import hashlib
import hmac
import secrets
from typing import Final, NamedTuple
from uuid import UUID

PREFIX: Final = "whsec_"
SALT: Final = 32
MARK: Final = 8


class NewSecret(NamedTuple):
    """A new secret: its 32 bytes, and what is stored of it."""

    secret: bytes
    salt: bytes
    mark: bytes


def new_secret(key: bytes, organisation: UUID, webhook: UUID) -> NewSecret:
    """Draw a new secret for a webhook."""
    salt = secrets.token_bytes(SALT)
    secret = derived(key, organisation, webhook, salt)
    return NewSecret(secret, salt, mark_of(secret))


def derived(key: bytes, organisation: UUID, webhook: UUID, salt: bytes) -> bytes:
    """Give the secret that a key makes of a salt: 32 bytes, within the 24 to 64 of Standard Webhooks."""
    return hmac.digest(key, b"webhook\0" + organisation.bytes + webhook.bytes + salt, hashlib.sha256)


def mark_of(secret: bytes) -> bytes:
    """Give what a secret is known by: 8 bytes, of no use to whoever would guess the other 256 bits."""
    return hashlib.sha256(secret).digest()[:MARK]


def shown(secret: bytes) -> str:
    """Write a secret as receivers take it."""
    return PREFIX + base64.b64encode(secret).decode()
