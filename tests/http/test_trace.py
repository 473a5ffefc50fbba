"""Trace context against the cases of the W3C's own test suite (w3c/trace-context, test/test.py)."""

import re

import httpx
import pytest

from service.http.trace import trace_of

NAMED = "0198c1f2-7a10-7c3e-9b55-3f1d2ab40c01"
TRACE = "12345678901234567890123456789012"
ANSWERED = re.compile(r"00-([0-9a-f]{32})-([0-9a-f]{16})-(00|01)")


@pytest.mark.parametrize(
    "parent",
    [
        f"00-{TRACE}-1234567890123456-01",
        f"cc-{TRACE}-1234567890123456-01",
        f"cc-{TRACE}-1234567890123456-01-what-the-future-will-be-like",
        f"  00-{TRACE}-1234567890123456-01\t",
    ],
)
def test_trace_is_gone_on_with(parent: str) -> None:
    """A header of this version, or of one to come that begins as this one does, names the trace; its part is new."""
    trace = trace_of([parent.encode()])
    assert trace.trace == TRACE
    assert trace.part != "1234567890123456"
    assert trace.flags == "01"


@pytest.mark.parametrize(
    "parents",
    [
        [],
        [f"00-{TRACE}-1234567890123456-01", f"00-{TRACE}-1234567890123457-01"],
        [f"00-{TRACE}-1234567890123456-01."],
        [f"00-{TRACE}-1234567890123456-01-what-the-future-will-be-like"],
        [f"cc-{TRACE}-1234567890123456-01.what-the-future-will-be-like"],
        [f"ff-{TRACE}-1234567890123456-01"],
        [f".0-{TRACE}-1234567890123456-01"],
        [f"0.-{TRACE}-1234567890123456-01"],
        [f"000-{TRACE}-1234567890123456-01"],
        [f"0-{TRACE}-1234567890123456-01"],
        ["00-00000000000000000000000000000000-1234567890123456-01"],
        [f"00-{TRACE}-0000000000000000-01"],
        [f"00-{TRACE}1-1234567890123456-01"],
        [f"00-{TRACE[1:]}-1234567890123456-01"],
        [f"00-.{TRACE[1:]}-1234567890123456-01"],
        [f"00-{TRACE}-12345678901234567-01"],
        [f"00-{TRACE}-123456789012345-01"],
        [f"00-{TRACE}-.234567890123456-01"],
        [f"00-{TRACE}-1234567890123456-.0"],
        [f"00-{TRACE}-1234567890123456-001"],
        [f"00-{TRACE}-1234567890123456-1"],
        ["00-ABCDEF78901234567890123456789012-1234567890123456-01"],
    ],
)
def test_trace_that_cannot_be_read_is_begun_anew(parents: list[str]) -> None:
    """What is malformed, doubled, all zeros or of the version ff is as good as none."""
    trace = trace_of([parent.encode() for parent in parents])
    assert trace.trace != TRACE
    assert ANSWERED.fullmatch(trace.written().decode())
    assert trace.flags == "00"


def test_flags_not_known_are_not_handed_on() -> None:
    """Of the flags only "sampled" has a meaning (section 3.2.2.5)."""
    assert trace_of([f"00-{TRACE}-1234567890123456-ff".encode()]).flags == "01"
    assert trace_of([f"00-{TRACE}-1234567890123456-fe".encode()]).flags == "00"


async def test_answer_names_the_trace_and_the_request(http: httpx.AsyncClient) -> None:
    """A trace is echoed with this service's part of it, and the sender's name for the request as it came."""
    sent = {"TraceParent": f"00-{TRACE}-1234567890123456-01", "X-Request-Id": NAMED}
    answered = await http.get("/health/live", headers=sent)
    found = ANSWERED.fullmatch(answered.headers["traceresponse"])
    assert found is not None
    assert (found[1], found[3]) == (TRACE, "01")
    assert answered.headers["x-request-id"] == NAMED
