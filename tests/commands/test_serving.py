import http.client
import signal
import socket
import subprocess
import sys
from asyncio import CancelledError, Event
from collections.abc import Iterator

import pytest

from service.bootstrap import ROOT
from service.serving import NoPort, listening, run

SERVER = """
import sys
from service.serving import listening, run, serve

async def app(scope, receive, send):
    if scope["type"] == "lifespan":
        while True:
            said = await receive()
            await send({"type": said["type"] + ".complete"})
            if said["type"] == "lifespan.shutdown":
                print("closed", flush=True)
                return
    body = b""
    while True:
        said = await receive()
        if said["type"] == "http.disconnect":
            return
        body += said["body"]
        if not said["more_body"]:
            break
    await send({"type": "http.response.start", "status": 200, "headers": [(b"content-length", b"%d" % len(body))]})
    await send({"type": "http.response.body", "body": body})

with listening("127.0.0.1", 0, go_on=False) as door:
    port = door.getsockname()[1]
    run(serve(app, door, drain_seconds=30, ready=lambda: print(port, flush=True)))
print("returned", flush=True)
"""


@pytest.fixture
def server() -> Iterator[tuple[subprocess.Popen[str], int]]:
    """Give a process that serves an echo, and its port."""
    with subprocess.Popen([sys.executable, "-c", SERVER], stdout=subprocess.PIPE, text=True, cwd=ROOT) as child:
        assert child.stdout is not None
        try:
            yield child, int(child.stdout.readline())
        finally:
            child.kill()


def half_a_request(port: int) -> http.client.HTTPConnection:
    """Send a request whose body is not complete yet."""
    connection = http.client.HTTPConnection("127.0.0.1", port, timeout=30)
    connection.putrequest("POST", "/")
    connection.putheader("Content-Length", "10")
    connection.endheaders(b"first")
    return connection


def answered(port: int) -> None:
    """Have one request answered, so that those sent before it are known to be there."""
    connection = http.client.HTTPConnection("127.0.0.1", port, timeout=30)
    connection.request("GET", "/", headers={"Connection": "close"})
    assert connection.getresponse().read() == b""
    connection.close()


def until_closed(port: int) -> None:
    """Try until the port takes no more connections."""
    while True:
        try:
            socket.create_connection(("127.0.0.1", port), timeout=30).close()
        except ConnectionError:
            return


@pytest.mark.parametrize("sign", [signal.SIGINT, signal.SIGTERM])
def test_first_signal_lets_requests_in_flight_finish(
    server: tuple[subprocess.Popen[str], int], sign: signal.Signals
) -> None:
    """After the first signal nobody new is let in, a request half sent is still answered, then the program goes on."""
    child, port = server
    connection = half_a_request(port)
    answered(port)
    child.send_signal(sign)
    until_closed(port)
    connection.send(b"later")
    response = connection.getresponse()
    assert (response.status, response.read()) == (200, b"firstlater")
    connection.close()
    assert child.stdout is not None
    assert child.stdout.read() == "closed\nreturned\n"
    assert child.wait() == 0


def test_second_signal_ends_at_once(server: tuple[subprocess.Popen[str], int]) -> None:
    """The second signal waits for no request any more."""
    child, port = server
    connection = half_a_request(port)
    answered(port)
    child.send_signal(signal.SIGINT)
    until_closed(port)
    child.send_signal(signal.SIGINT)
    assert child.wait(timeout=10) != 0
    connection.close()
    assert child.stdout is not None
    assert "returned" not in child.stdout.read()


ASKING = """
import urllib.request

async def ending():
    import asyncio
    asked = await asyncio.to_thread(urllib.request.urlopen, f"http://127.0.0.1:{port}/")
    print("ending", asked.status, flush=True)
"""


def test_who_is_told_of_the_end_is_still_answered() -> None:
    """Before anything closes, what the service has under way is told, waited for, and answered like everybody."""
    code = SERVER.replace("with listening", f"{ASKING}\nwith listening").replace(
        "drain_seconds=30,", "drain_seconds=30, ending=ending,"
    )
    with subprocess.Popen([sys.executable, "-c", code], stdout=subprocess.PIPE, text=True, cwd=ROOT) as child:
        assert child.stdout is not None
        try:
            child.stdout.readline()
            child.send_signal(signal.SIGTERM)
            assert child.stdout.read() == "ending 200\nclosed\nreturned\n"
        finally:
            child.kill()


class Finalised:
    """What is cleared away while a request to end comes."""

    def __del__(self) -> None:
        signal.raise_signal(signal.SIGTERM)


def test_request_to_end_is_not_lost_while_something_is_cleared_away() -> None:
    """What Python would swallow where the request comes still ends what runs, by the code of that signal."""
    cleared: list[str] = []

    async def work() -> None:
        Finalised()
        try:
            await Event().wait()
        finally:
            cleared.append("work")

    with pytest.raises(SystemExit) as ended:
        run(work())
    assert (ended.value.code, cleared) == (143, ["work"])


def test_second_request_to_end_waits_for_nothing() -> None:
    """What clears up for ever after the first is left at the second."""

    async def work() -> None:
        try:
            signal.raise_signal(signal.SIGTERM)
            await Event().wait()
        finally:
            signal.raise_signal(signal.SIGTERM)
            await Event().wait()

    with pytest.raises(SystemExit) as ended:
        run(work())
    assert ended.value.code == 143


def test_request_to_end_that_comes_as_the_work_ends_is_told() -> None:
    """Where nothing is left to be cancelled the code is that of the signal, too."""

    async def work() -> int:
        signal.raise_signal(signal.SIGTERM)
        return 0

    with pytest.raises(SystemExit) as ended:
        run(work())
    assert ended.value.code == 143


def test_work_that_is_cancelled_otherwise_says_so() -> None:
    """Only a request to end is told as one, and the handler of before is there again."""
    before = signal.getsignal(signal.SIGTERM)

    async def work() -> None:
        raise CancelledError

    with pytest.raises(CancelledError):
        run(work())
    assert signal.getsignal(signal.SIGTERM) is before


def test_taken_port_is_refused_or_passed_over() -> None:
    """A port in use is an error where that port is wanted, and where any will do the next free one is taken."""
    with listening("127.0.0.1", 0, go_on=False) as taken:
        port = taken.getsockname()[1]
        with pytest.raises(NoPort, match=f"127.0.0.1:{port} is taken"):
            listening("127.0.0.1", port, go_on=False)
        with listening("127.0.0.1", port, go_on=True) as other:
            assert port < other.getsockname()[1] <= port + 100
