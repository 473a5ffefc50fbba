"""The secret of an API key: `rl_` and 36 characters, of which the last six check the others.

The check is base62 of the CRC-32 of the 30 random characters, so that a typing error, or a find of a secret scanner,
is told from a key without asking the database. 30 characters of base62 hold 178 bits, so that one round of SHA-256 is
enough to store it by: nobody guesses what it hides.
"""

import hashlib
import secrets
import zlib
from typing import NamedTuple

ALPHABET = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz"
PREFIX = "rl_"
BODY = 30
CHECK = 6


class KeySecret(NamedTuple):
    """A new key: the text shown once, and what is stored of it."""

    text: str
    hash: bytes


def new_key_secret() -> KeySecret:
    """Draw a new key."""
    body = "".join(secrets.choice(ALPHABET) for _ in range(BODY))
    text = f"{PREFIX}{body}{check_of(body)}"
    return KeySecret(text, stored_hash(text))


def key_hash(text: str) -> bytes | None:
    """Give the hash a presented key is found by; None when the text cannot be a key of this service."""
    body, check = text[len(PREFIX) : -CHECK], text[-CHECK:]
    if len(text) != len(PREFIX) + BODY + CHECK or not text.startswith(PREFIX) or not text.isascii():
        return None
    return stored_hash(text) if check == check_of(body) else None


def check_of(body: str) -> str:
    """Give the six characters that check the body: its CRC-32 in base62, most significant first."""
    number = zlib.crc32(body.encode("ascii"))
    digits = ""
    for _ in range(CHECK):
        number, digit = divmod(number, len(ALPHABET))
        digits = ALPHABET[digit] + digits
    return digits


def stored_hash(text: str) -> bytes:
    """Give what is stored of a key: 32 bytes."""
    return hashlib.sha256(text.encode("ascii")).digest()
