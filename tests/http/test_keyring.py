from datetime import timedelta
from uuid import uuid4

import httpx

from service.http.keyring import Keyring
from service.store.find_key import FoundKey
from tests.http.doors import NOON, OURS
from tests.http.firm import the_firm
from tests.http.keys import Keys

HASH = b"\x01" * 32


def a_key() -> FoundKey:
    """Make a key as it is found."""
    return FoundKey(
        organisation=OURS, id=uuid4(), name="a key", role="site-app", sites=None, expires_at=None, revoked_at=None
    )


def test_a_key_is_remembered_for_ten_seconds() -> None:
    """It is given as it was found, and looked up again from the tenth second on."""
    ring, key = Keyring(), a_key()
    assert ring.find(HASH, NOON) is None
    ring.remember(HASH, key, NOON)
    assert ring.find(HASH, NOON + timedelta(seconds=9.9)) is key
    assert ring.find(HASH, NOON + timedelta(seconds=10)) is None


def test_keys_are_not_gathered_without_end() -> None:
    """Of more than ten thousand the one remembered first is let go."""
    ring, key = Keyring(), a_key()
    for number in range(10_001):
        ring.remember(number.to_bytes(32), key, NOON)
    assert ring.find((0).to_bytes(32), NOON) is None
    assert ring.find((1).to_bytes(32), NOON) is key


async def test_a_revoked_key_records_nothing_however_lately_it_was_found(http: httpx.AsyncClient, keys: Keys) -> None:
    """The post after the revocation is answered 401, and neither recorded nor kept."""
    key = uuid4()
    headers = await keys.make("administrator", key=key)
    firm = the_firm()
    assert (await http.post("/v1/events", json=firm[0], headers=headers)).status_code == 201
    await keys.revoke(key)
    for refused in (firm[1], firm[1] | {"colour": "red"}):
        answer = await http.post("/v1/events", json=refused, headers=headers)
        assert (answer.status_code, answer.json()["type"]) == (401, "/problems/invalid-key")
    other = await keys.make("administrator")
    assert len((await http.get("/v1/events", headers=other)).json()["events"]) == 1
    assert (await http.get("/v1/rejected", headers=other)).json()["rejected"] == []
