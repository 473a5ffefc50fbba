"""One attempt over real sockets: to whom it goes, how much it reads, and what it calls a failure."""

import asyncio
import ssl
import subprocess
from pathlib import Path
from uuid import UUID

import pytest

from service.pushing.sending import MOST_READ, Answered, Way, post
from service.pushing.target import Target
from tests.http.doors import OURS
from tests.push.receiver import Got, Receiver, receiving, status

HERE = Way(private=True, seconds=5)


def at(receiver: Receiver, host: str = "127.0.0.1", *, tls: bool = False) -> Target:
    """Give where a receiver listens, by a name for it."""
    return Target(host, receiver.port, "/hooks", tls)


class Names:
    """A resolver of the tests: what it answers the first time, and what from then on."""

    def __init__(self, *answers: list[str]) -> None:
        self.answers = list(answers)
        self.asked: list[str] = []

    async def __call__(self, _organisation: UUID, host: str, _port: int) -> list[str]:
        """Answer."""
        self.asked.append(host)
        return self.answers.pop(0) if len(self.answers) > 1 else self.answers[0]


@pytest.mark.parametrize(
    ("answered", "expected"),
    [
        (status(200), Answered(200)),
        (status(204), Answered(204)),
        (status(301, "Location: http://127.0.0.1/elsewhere"), Answered(301, "redirected")),
        (status(307, "Location: http://169.254.169.254/"), Answered(307, "redirected")),
        (status(404), Answered(404, "refused")),
        (status(408), Answered(408, "failing")),
        (status(425), Answered(425, "failing")),
        (status(429, "Retry-After: 120"), Answered(429, "failing", 120)),
        (status(503, "retry-after: Sun, 06 Nov 1994 08:49:37 GMT"), Answered(503, "failing")),
        (b"HTTP/1.1 100 Continue\r\n\r\n" + status(200), Answered(200)),
        (b"HTTP/1.1 103 Early Hints\r\nLink: </x>\r\n\r\n" + status(500), Answered(500, "failing")),
        (b"HTTP/1.1 200 OK\r\n\r\nbody to the end", Answered(200)),
        (b"HTTP/1.1 200 OK\r\nContent-Length: 99\r\n\r\ncut", Answered(200)),
        (
            b"HTTP/1.1 101 Switching Protocols\r\nConnection: Upgrade\r\nUpgrade: websocket\r\n\r\n",
            Answered(error="not-http"),
        ),
        (b"SSH-2.0-OpenSSH\r\n", Answered(error="not-http")),
        (b"", Answered(error="not-connected")),
        (b"HTTP/1.1 200 OK\r\nX: " + b"x" * 2 * MOST_READ, Answered(error="not-http")),
    ],
)
async def test_an_answer_is_its_status(answered: bytes, expected: Answered) -> None:
    """Any status of 2xx is success; whatever else comes is a failure with a word for it; no redirect is followed."""

    async def answer(_: Got) -> bytes:
        return answered

    async with receiving(answer) as receiver:
        assert await post(HERE, OURS, at(receiver), {"Webhook-Id": "m-1"}, b"{}") == expected
        assert len(receiver.got) == 1


async def test_a_request_is_as_it_should_be() -> None:
    """A message is posted in one piece, by the name it was asked for, and with its headers."""
    async with receiving() as receiver:
        way = Way(private=True, seconds=5, resolve=Names(["127.0.0.1"]))
        await post(way, OURS, at(receiver, "erp.example.com"), {"webhook-id": "m-1"}, b'{"a": 1}')
    (got,) = receiver.got
    assert got.line == "POST /hooks HTTP/1.1"
    assert got.headers["host"] == f"erp.example.com:{receiver.port}"
    assert got.headers["webhook-id"] == "m-1"
    assert got.body == b'{"a": 1}'


@pytest.mark.parametrize(
    "addresses", [["127.0.0.1"], ["10.1.2.3"], ["169.254.169.254"], ["::ffff:127.0.0.1"], ["8.8.8.8", "127.0.0.1"]]
)
async def test_a_name_that_leads_inside_is_refused(addresses: list[str]) -> None:
    """It is the address that is judged: a public name with a private address among its own is not connected to."""
    async with receiving() as receiver:
        way = Way(private=False, seconds=5, resolve=Names(addresses))
        answered = await post(way, OURS, at(receiver, "erp.example.com", tls=True), {}, b"{}")
    assert answered == Answered(error="address-refused")
    assert receiver.got == []


async def test_a_name_is_asked_once() -> None:
    """A name that answers otherwise the second time changes nothing: the address that was judged is connected to."""
    names = Names(["127.0.0.1"], ["169.254.169.254"])
    async with receiving() as receiver:
        way = Way(private=True, seconds=5, resolve=names)
        assert await post(way, OURS, at(receiver, "rebinding.example.com"), {}, b"{}") == Answered(204)
        assert names.asked == ["rebinding.example.com"]
        assert len(receiver.got) == 1
        again = await post(way, OURS, at(receiver, "rebinding.example.com"), {}, b"{}")
    assert again == Answered(error="address-refused")
    assert len(receiver.got) == 1


async def test_the_environment_has_no_say(monkeypatch: pytest.MonkeyPatch) -> None:
    """A proxy that the environment names is not asked."""
    for name in ("http_proxy", "HTTP_PROXY", "https_proxy", "ALL_PROXY"):
        monkeypatch.setenv(name, "http://127.0.0.1:1")
    async with receiving() as receiver:
        assert await post(HERE, OURS, at(receiver), {}, b"{}") == Answered(204)


async def test_a_name_that_is_none_is_told() -> None:
    """A host that does not resolve, to nothing or at all, is not found."""

    async def unknown(_organisation: UUID, _host: str, _port: int) -> list[str]:
        raise OSError

    for way in (Way(private=True, seconds=5, resolve=unknown), Way(private=True, seconds=5, resolve=Names([]))):
        assert await post(way, OURS, Target("a.example", 443, "/", tls=True), {}, b"{}") == Answered(
            error="host-not-found"
        )
    label = Target("a" * 70 + ".example", 443, "/", tls=True)
    assert await post(HERE, OURS, label, {}, b"{}") == Answered(error="host-not-found")


async def test_nobody_listens() -> None:
    """Where nobody listens any more there is no connection."""
    async with receiving() as receiver:
        gone = at(receiver)
    assert await post(HERE, OURS, gone, {}, b"{}") == Answered(error="not-connected")


async def test_a_receiver_is_waited_for_so_long() -> None:
    """A receiver that takes a message and says nothing is let go when its time is over; one that says slowly counts."""
    never = asyncio.Event()

    async def silent(_: Got) -> bytes:
        await never.wait()
        return b""

    async with receiving(silent) as receiver:
        assert await post(Way(private=True, seconds=0.2), OURS, at(receiver), {}, b"{}") == Answered(error="timed-out")
        never.set()

    async def begun(_: Got) -> bytes:
        return b"HTTP/1.1 202 Accepted\r\nTransfer-Encoding: chunked\r\n\r\n"

    stays = asyncio.Event()

    async def drips(reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
        await reader.readuntil(b"{}")
        writer.write(await begun(Got("", {}, b"")))
        await stays.wait()
        writer.close()

    server = await asyncio.start_server(drips, "127.0.0.1", 0)
    port = server.sockets[0].getsockname()[1]
    slow = Way(private=True, seconds=0.2)
    assert await post(slow, OURS, Target("127.0.0.1", port, "/", tls=False), {}, b"{}") == Answered(202)
    stays.set()
    server.close()


@pytest.fixture(scope="module")
def certificate(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Make a certificate for erp.example.com that nobody but the test trusts."""
    folder = tmp_path_factory.mktemp("tls")
    made = ["openssl", "req", "-x509", "-newkey", "ec", "-pkeyopt", "ec_paramgen_curve:P-256", "-nodes", "-days", "2"]
    named = ["-subj", "/CN=erp.example.com", "-addext", "subjectAltName=DNS:erp.example.com"]
    files = ["-keyout", str(folder / "key.pem"), "-out", str(folder / "cert.pem")]
    subprocess.run([*made, *named, *files], check=True, capture_output=True)
    return folder


async def test_a_certificate_holds_for_its_name(certificate: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Over https a receiver must show a trusted certificate for the name that was asked for, not for its address."""
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    context.load_cert_chain(certificate / "cert.pem", certificate / "key.pem")
    names = Names(["127.0.0.1"])
    async with receiving(tls=context) as receiver:
        stranger = Way(private=True, seconds=5, resolve=names)
        assert await post(stranger, OURS, at(receiver, "erp.example.com", tls=True), {}, b"{}") == Answered(
            error="tls-failed"
        )
        monkeypatch.setenv("SSL_CERT_FILE", str(certificate / "cert.pem"))
        way = Way(private=True, seconds=5, resolve=names)
        assert await post(way, OURS, at(receiver, "erp.example.com", tls=True), {}, b"{}") == Answered(204)
        assert await post(way, OURS, at(receiver, "other.example.com", tls=True), {}, b"{}") == Answered(
            error="tls-failed"
        )
    assert len(receiver.got) == 1
