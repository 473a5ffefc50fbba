"""The firm of the benchmark: sites, one model, and so many units in issue, recorded as any firm's are."""

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from random import Random
from uuid import UUID, uuid4

import httpx
import msgspec
import psycopg

from service.store.connecting import connect
from service.store.make_organisation import make_organisation
from service.store.scope import set_organisation
from tests.http.doors import OURS
from tests.http.firm import checked, issued, message, model, registered, site
from tests.http.keys import Keys

SITES = 20
BATCH = 500


def tag_of(number: int) -> str:
    """Name a unit."""
    return f"FX-{number:06d}"


async def made_firm(owner_url: str) -> str:
    """Make the organisation, and give an administrator's key."""
    async with await connect(owner_url) as owner:
        async with owner.transaction():
            await set_organisation(owner, OURS)
            await make_organisation(owner, OURS, "The firm of the benchmark", datetime(2025, 1, 1, tzinfo=UTC))
        headers = await Keys(owner).make("administrator")
    return headers["authorization"].removeprefix("Bearer ")


async def made_key(owner_url: str) -> UUID:
    """Make another key of an administrator, and give its id."""
    key = uuid4()
    async with await connect(owner_url) as owner:
        await Keys(owner).make("administrator", key=key)
    return key


def beginnings(units: int) -> Iterator[list[dict[str, object]]]:
    """Tell of the firm and its units, in batches."""
    yield [*(site(site_of(number)) for number in range(SITES)), model()]
    told: list[dict[str, object]] = []
    for number in range(units):
        told += [
            registered(tag_of(number), site=site_of(number)),
            message("examined", asset=tag_of(number), site=site_of(number), result="pass", airflow_lpm=190.0,
                    points={"airflow": "pass", "battery": "pass"}),
            checked(tag_of(number), site=site_of(number)),
            issued(tag_of(number), site=site_of(number)),
        ]  # fmt: skip
    for first in range(0, len(told), BATCH):
        yield told[first : first + BATCH]


def site_of(number: int) -> str:
    """Name the site of a unit."""
    return f"site-{number % SITES:03d}"


async def settle_in(port: int, key: str, units: int) -> None:
    """Post the beginnings; raises AssertionError where anything is not recorded."""
    headers = {"Authorization": f"Bearer {key}", "Prefer": "import"}
    async with httpx.AsyncClient(base_url=f"http://127.0.0.1:{port}", headers=headers, timeout=300) as http:
        for batch in beginnings(units):
            answer = await http.post("/v1/events", json=batch)
            statuses = {result["status"] for result in answer.json()["results"]}
            assert statuses == {201}, answer.text[:1000]


def checks(units: int, count: int, seed: int) -> Iterator[bytes]:
    """Write checks of random units by their site's kiosk, with random ids, as they come live.

    They are a tenth of a millisecond apart, since senders are not in the future: what another seed tells afterwards
    shall not be late by it.
    """
    random = Random(seed)  # noqa: S311 -- guards nothing
    numbers: dict[int, int] = {}
    now = datetime.now(UTC)
    for place in range(count):
        unit = random.randrange(units)
        kiosk = unit % SITES
        numbers[kiosk] = numbers.get(kiosk, 0) + 1
        yield msgspec.json.encode(
            checked(
                tag_of(unit),
                id=str(UUID(int=random.getrandbits(128))),
                occurred_at=(now + timedelta(microseconds=100 * place)).isoformat(),
                site=site_of(unit),
                device=f"kiosk-{seed}-{kiosk}",
                device_seq=numbers[kiosk],
            )
        )


def analyse(owner_url: str) -> None:
    """Let the planner know how large the tables are, as it would within a minute."""
    with psycopg.connect(owner_url, autocommit=True) as conn:
        conn.execute("ANALYZE")
