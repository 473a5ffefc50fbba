"""A process that is given a replica: it tells what the replica holds, and promises no more than that."""

from collections.abc import AsyncIterator, Iterator
from typing import NamedTuple

import httpx
import pytest
from structlog.testing import capture_logs

from service.http.position import HEADER
from tests.faults.database import Standby, migrated, packaged, standby
from tests.http.conftest import made_firms
from tests.http.firm import checked, failed, the_firm
from tests.http.listening import listening_to
from tests.http.test_long_poll import asked

UNIT = "/v1/assets/FX-0142"


class Two(NamedTuple):
    """A process that writes and one that reads a replica, with a firm of four events."""

    writes: httpx.AsyncClient
    reads: httpx.AsyncClient
    replica: Standby


@pytest.fixture(scope="module")
def replica() -> Iterator[Standby]:
    """Give a server with a replica."""
    with packaged() as primary, standby(primary) as made:
        yield made


@pytest.fixture
async def two(replica: Standby) -> AsyncIterator[Two]:
    """Serve a database of it, and what the replica has of that."""
    with migrated(replica.primary) as made:
        async with made_firms(made.owner_url) as keys:
            replica.catch_up()
            async with listening_to(made.app_url) as writer, listening_to(replica.at(made.app_url)) as reader:
                headers = await keys.make("administrator")
                async with asked(writer, headers) as writes, asked(reader, headers) as reads:
                    await writes.post("/v1/events", json=the_firm())
                    replica.catch_up()
                    yield Two(writes, reads, replica)


async def test_a_replica_knows_no_more_than_it_holds(two: Two) -> None:
    """While a replica lags it tells up to which moment it knows, and says the same of that moment when it does not.

    How things stand now it tells as a projection. A process that writes knows up to its own moment.
    """
    writes, reads, replica = two
    there = (await reads.get(UNIT, headers={HEADER: "4"})).json()
    replica.pause()
    failure = (await writes.post("/v1/events", json=failed())).json()
    lags = await reads.get(UNIT)
    replica.go_on()
    caught_up = await reads.get(UNIT, headers={HEADER: "5"})
    moments = {"as_at": lags.json()["as_at"], "known_at": lags.json()["known_at"]}
    again = await reads.get(UNIT, params=moments)
    elsewhere = await writes.get(UNIT, params=moments)
    of_now = (await writes.get(UNIT)).json()
    ahead = await reads.get(UNIT, params={"known_at": of_now["known_at"]})

    assert there["known_at"] == lags.json()["known_at"] < failure["recorded_at"] <= lags.json()["as_at"]
    assert (lags.json()["do_not_use"], lags.json()["projection"], lags.json()["judged_to"]) == (False, True, 4)
    assert again.content == lags.content == elsewhere.content
    assert caught_up.json()["do_not_use"] is of_now["do_not_use"] is True
    assert caught_up.json()["known_at"] == failure["recorded_at"] < of_now["known_at"] == of_now["as_at"]
    assert of_now["projection"] is False
    assert (ahead.status_code, ahead.json()["type"]) == (400, "/problems/not-yet-known")


async def test_a_replica_records_nothing(two: Two) -> None:
    """Whoever posts to a replica is told to come again, alone and in a batch; nothing of it is taken for a failure."""
    said = [checked(), [checked(), checked()], checked("FX-0999")]
    with capture_logs() as logs:
        told = [await two.reads.post("/v1/events", json=one) for one in said]
        named = await two.reads.post("/v1/events", json=checked(), headers={"idempotency-key": '"a"'})

    assert [(answered.status_code, answered.json()["type"]) for answered in (*told, named)] == [
        (503, "/problems/unavailable")
    ] * 4
    assert told[0].headers["retry-after"] == "1"
    assert "replica" in told[0].json()["detail"]
    assert [line for line in logs if line["log_level"] == "error"] == []


async def test_a_place_that_a_replica_has_not_come_to_is_waited_for(two: Two) -> None:
    """A cursor from beyond what a replica holds moves nowhere: the reader is to come again."""
    for told in (
        await two.reads.get("/v1/events", params={"after": "1000"}),
        await two.reads.get("/v1/events/stream", headers={"last-event-id": "1000"}),
    ):
        assert (told.status_code, told.json()["type"]) == (503, "/problems/position-not-reached")
