"""A peer that answers over HTTP as the interface promises, and keeps what it was sent: statuses by identifier alone."""

import json
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from typing import Any
from urllib.parse import parse_qs, urlsplit

from typing_extensions import override

KNOWN_AT = "2026-11-25T12:00:00+00:00"


class Peer(ThreadingHTTPServer):
    """Remembers messages and their headers; `forgetful` makes its summaries change, `status` refuses every request."""

    daemon_threads = True

    def __init__(self, *, forgetful: bool = False, status: int = 207) -> None:
        super().__init__(("127.0.0.1", 0), Handler)
        self.forgetful, self.status = forgetful, status
        self.posted: list[tuple[dict[str, str], list[dict[str, Any]]]] = []
        self.known: set[str] = set()
        self.summaries = 0
        self.guard = threading.Lock()

    def receive(self, headers: dict[str, str], messages: list[dict[str, Any]]) -> list[dict[str, Any]]:
        """Keep a batch and answer each message: new, known, or of a tag nobody knows."""
        with self.guard:
            self.posted.append((headers, messages))
            return [self._result(message) for message in messages]

    def _result(self, message: dict[str, Any]) -> dict[str, Any]:
        if message.get("asset") == "FX-7113":
            return {"id": message["id"], "status": 422, "problem": {"type": "unknown-asset"}, "rejected": "r-1"}
        status = 200 if message["id"] in self.known else 201
        self.known.add(message["id"])
        return {"id": message["id"], "status": status, "seq": len(self.known)}


class Handler(BaseHTTPRequestHandler):
    """Translates between HTTP and the peer."""

    protocol_version = "HTTP/1.1"
    wbufsize = -1
    server: Peer

    def do_POST(self) -> None:
        """Take a batch."""
        messages = json.loads(self.rfile.read(int(self.headers["Content-Length"])))
        self._answer(self.server.status, {"results": self.server.receive(dict(self.headers), messages)})

    def do_GET(self) -> None:
        """Give a summary that names its two moments."""
        asked = parse_qs(urlsplit(self.path).query)
        self.server.summaries += 1
        count = self.server.summaries if self.server.forgetful else 0
        self._answer(
            200, {"as_at": asked["as_at"][0], "known_at": asked.get("known_at", [KNOWN_AT])[0], "units": count}
        )

    def _answer(self, status: int, content: dict[str, Any]) -> None:
        body = json.dumps(content).encode()
        self.send_response(status)
        self.send_header("Content-Length", str(len(body)))
        self.end_headers()
        self.wfile.write(body)
        self.wfile.flush()

    @override
    def log_request(self, *_: object) -> None:
        """Keep quiet."""


@contextmanager
def listening(peer: Peer) -> Iterator[str]:
    """Serve on loopback while the block runs; gives the address."""
    thread = threading.Thread(target=peer.serve_forever, daemon=True)
    thread.start()
    try:
        yield f"http://127.0.0.1:{peer.server_address[1]}"
    finally:
        peer.shutdown()
        peer.server_close()
        thread.join()
