"""Faults of the service itself: each is counted or has the webhook rest, and nothing is sent again for ever."""

import asyncio
from datetime import UTC, datetime, timedelta
from typing import Any

import httpx
import pytest
from structlog.testing import capture_logs

from service.domain.recorded import Recorded
from service.pushing import ahead, message, outlet
from service.pushing.cloud_event import cloud_event
from tests.push.conftest import Headers
from tests.push.hooks import hooked
from tests.push.receiver import receiving
from tests.push.test_delivering import at_once


class Unforeseen(Exception):
    """What nobody thought of."""


async def test_a_fault_in_sending_is_an_attempt(
    http: httpx.AsyncClient, integrator: Headers, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Whatever sending fails at is recorded as an attempt that failed, with a rest, and logged; a test is told."""

    async def post(*_: Any) -> None:
        raise Unforeseen

    monkeypatch.setattr(outlet, "post", post)
    with capture_logs() as logs:
        hook = await hooked(http, integrator, "http://127.0.0.1:1024/")
        async with asyncio.timeout(20):
            told = await hook.until(waiting=1)
    (one,) = told["deliveries"]
    assert (one["seq"], one["attempts"], one["status"], one["error"]) == (1, 1, None, "service-failed")
    assert told["progress"]["rests_until"] is not None
    assert told["progress"]["failing_since"] is None
    assert [line["log_level"] for line in logs if line["event"] == "message not sent"] == ["error"]
    tried = await hook.post("test")
    assert (tried.status_code, tried.json()["delivered"], tried.json()["error"]) == (200, False, "service-failed")


async def test_an_event_that_cannot_be_written_holds_up_no_other(
    http: httpx.AsyncClient, integrator: Headers, monkeypatch: pytest.MonkeyPatch
) -> None:
    """An event that the service fails to write is counted, and those behind it come."""
    at_once(monkeypatch)

    def written(row: Recorded, shown: dict[str, object]) -> bytes:
        if row.seq == 2:
            raise Unforeseen
        return cloud_event(row, shown)

    monkeypatch.setattr(message, "cloud_event", written)
    async with receiving() as receiver, asyncio.timeout(20):
        hook = await hooked(http, integrator, receiver.url)
        told = await hook.until(passed=4, waiting=1)
        assert receiver.seqs == [1, 3, 4]
        (one,) = [one for one in told["deliveries"] if one["seq"] == 2]
        assert (one["state"], one["error"]) == ("waiting", "service-failed")


def failed(logs: list[Any]) -> list[str]:
    """Give how loudly it was told that a webhook failed."""
    return [line["log_level"] for line in logs if line["event"] == "webhook failed"]


async def test_a_fault_before_any_message_has_the_webhook_rest(
    http: httpx.AsyncClient, integrator: Headers, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Where no message is to blame the webhook rests five minutes, and then is taken up where it was."""

    async def read_rows(*_: Any) -> None:
        raise Unforeseen

    async with receiving() as receiver, asyncio.timeout(20):
        with monkeypatch.context() as failing, capture_logs() as logs:
            failing.setattr(ahead, "read_rows", read_rows)
            hook = await hooked(http, integrator, receiver.url)
            while (rests := (await hook.told())["progress"]["rests_until"]) is None or not failed(logs):
                pass
        assert datetime.fromisoformat(rests) > datetime.now(UTC) + timedelta(minutes=4)
        assert failed(logs) == ["error"]
        assert (await hook.put(purpose="mended")).status_code == 200
        await hook.until(passed=4)
        assert receiver.seqs == [1, 2, 3, 4]
