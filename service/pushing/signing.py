"""Signatures of Standard Webhooks 1.0.0 (standard-webhooks, spec/standard-webhooks.md): `v1`, HMAC-SHA-256."""

import base64
import hashlib
import hmac
from collections.abc import Iterable


def signature(secret: bytes, name: str, timestamp: int, body: bytes) -> str:
    """Sign a message: its name (`webhook-id`), the moment of the attempt in seconds, and its bytes as they are sent."""
    signed = hmac.digest(secret, f"{name}.{timestamp}.".encode() + body, hashlib.sha256)
    return f"v1,{base64.b64encode(signed).decode()}"


def headers(secrets: Iterable[bytes], name: str, timestamp: int, body: bytes) -> dict[str, str]:
    """Give the three headers; each secret that holds now signs, so that receivers change over in their own time."""
    return {
        "webhook-id": name,
        "webhook-timestamp": str(timestamp),
        "webhook-signature": " ".join(signature(secret, name, timestamp, body) for secret in secrets),
    }
