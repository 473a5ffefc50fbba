"""Webhooks as they come in: the signature is checked (Standard Webhooks 1.0.0), then somebody is told, then 204."""

import base64
import hashlib
import hmac
import json
import time
from collections.abc import Callable, Mapping
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer

FRESH = 300
"""Seconds by which the moment of a message may differ from ours: what is older is perhaps somebody's copy."""
LARGEST = 1_000_000
Told = Callable[[str], None]
"""What is done about an event, of which the type is told."""


def is_signed(secret: str, headers: Mapping[str, str], body: bytes, now: float) -> bool:
    """Say whether a message carries a signature of the secret, and is of now; names of headers are in any case."""
    headers = {field.lower(): text for field, text in headers.items()}
    name, moment, signatures = (headers.get(f"webhook-{part}", "") for part in ("id", "timestamp", "signature"))
    if not (moment.isascii() and moment.isdigit()) or abs(now - int(moment)) > FRESH:
        return False
    key = base64.b64decode(secret.removeprefix("whsec_"))
    signed = hmac.digest(key, f"{name}.{moment}.".encode() + body, hashlib.sha256)
    wanted = f"v1,{base64.b64encode(signed).decode()}"
    return any(hmac.compare_digest(wanted, one) for one in signatures.split())


def receiver(address: tuple[str, int], secret: Callable[[], str | None], told: Told) -> ThreadingHTTPServer:
    """Give a server that takes webhooks; `secret` is asked for each message, since it may be told later."""

    class Receiver(BaseHTTPRequestHandler):
        def do_POST(self) -> None:
            """Take a message."""
            length = self.headers.get("content-length", "")
            known_length = length.isascii() and length.isdigit() and int(length) <= LARGEST
            body = self.rfile.read(int(length)) if known_length else b""
            known = secret()
            if known is None or not is_signed(known, dict(self.headers), body, time.time()):
                self.send_error(401)
                return
            told(str(json.loads(body)["type"]))
            self.send_response(204)
            self.end_headers()

        def log_request(self, *_: object) -> None:
            """Write nothing: the desk tells what it does."""

    return ThreadingHTTPServer(address, Receiver)
