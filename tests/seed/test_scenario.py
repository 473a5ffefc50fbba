import os
import re
import subprocess
import sys
from collections import Counter, defaultdict
from datetime import UTC, datetime, timedelta
from hashlib import sha256
from itertools import accumulate, pairwise

import msgspec

from seed.adverse import adverse
from seed.delivery import Delivery
from seed.scenario import Scenario, scenario
from service.domain.codec import decode
from service.domain.kinds import BY_NAME
from tests.seed.conftest import END

DIGEST = """
from hashlib import sha256
from tests.seed.conftest import END
from tests.seed.test_scenario import digest
from seed.scenario import scenario
print(digest(scenario(END)))
"""


def digest(story: Scenario) -> str:
    """Hash all messages and the way they travel."""
    return sha256(msgspec.json.encode(story.deliveries)).hexdigest()


def occurred(delivery: Delivery) -> datetime:
    """Read when a message says its event was."""
    return datetime.fromisoformat(str(delivery.message["occurred_at"]))


def test_the_same_seed_and_end_give_the_same_bytes(story: Scenario) -> None:
    """Another process with other hash seeds plays the same year, byte for byte."""
    again = subprocess.run(
        [sys.executable, "-c", DIGEST],
        env={**os.environ, "PYTHONHASHSEED": "4711"},
        capture_output=True,
        text=True,
        check=True,
        timeout=120,
    )
    assert again.stdout.strip() == digest(story)


def test_the_year_is_as_large_as_stated(story: Scenario) -> None:
    """The log gets about 60,000 events about 400 assets."""
    assert 58_000 <= sum(story.truth.counts.values()) <= 64_000
    assert story.truth.assets == 400
    assert story.truth.counts["registered"] == 400
    assert story.truth.counts["model-defined"] == 6


def test_every_kind_happens(story: Scenario) -> None:
    """Each kind the service knows is used at least once."""
    assert set(story.truth.counts) == set(BY_NAME)


def test_the_kinds_come_in_a_realistic_mixture(story: Scenario) -> None:
    """Checks make two thirds; failures are a few in a thousand of them; releases follow withdrawals."""
    counts = story.truth.counts
    checks = counts["checked"] + counts["failed-check"]
    assert 0.6 < checks / sum(counts.values()) < 0.72
    assert 0.002 < counts["failed-check"] / checks < 0.01
    assert 2500 < counts["examined"] < 4000
    assert counts["released"] > 80


def test_every_message_is_an_event(logged: list[Delivery]) -> None:
    """The service's own decoder reads each message."""
    for one in logged:
        event = decode(msgspec.json.encode(one.message))
        assert event.kind == one.message["kind"]


def test_identifiers_are_unique(logged: list[Delivery]) -> None:
    """No two events of the log share an identifier."""
    ids = Counter(str(one.message["id"]) for one in logged)
    assert [each for each, times in ids.items() if times > 1] == []


def test_nothing_lies_outside_the_time_it_may(story: Scenario) -> None:
    """No event is later than the end, and none but what stood before the year is earlier than its start."""
    start = END - timedelta(days=366)
    about_assets = [one for one in story.deliveries if "asset" in one.message]
    assert all(occurred(one) <= END and one.at <= END for one in story.deliveries)
    assert all(occurred(one) > start for one in about_assets)


def test_deliveries_come_in_order(story: Scenario) -> None:
    """Reference data arrives before all else, the rest in the order of its arrival."""
    reference = [one for one in story.deliveries if one.key_role == "administrator"]
    assert list(story.deliveries[: len(reference)]) == reference
    assert all(before.at <= after.at for before, after in pairwise(story.deliveries[len(reference) :]))


def test_devices_count_their_messages_by_one(logged: list[Delivery]) -> None:
    """Each device numbers what it writes from 1 without a gap."""
    numbers: defaultdict[object, list[int]] = defaultdict(list)
    for one in logged:
        if "device_seq" in one.message:
            numbers[one.message["device"]].append(int(str(one.message["device_seq"])))
    assert len(numbers) > 40
    assert all(sorted(found) == list(range(1, len(found) + 1)) for found in numbers.values())


def test_a_device_belongs_to_one_site(logged: list[Delivery]) -> None:
    """No two sites have a device of the same name."""
    sites = {(one.message["device"], one.site) for one in logged if "device_seq" in one.message}
    assert len(sites) == len({device for device, _ in sites})


def test_no_imported_bad_news_has_a_doubtful_clock(logged: list[Delivery]) -> None:
    """No counter of a device contradicts the stamp of bad news by over five minutes, or it would count again (R9)."""
    devices: defaultdict[object, list[tuple[int, datetime, Delivery]]] = defaultdict(list)
    for one in logged:
        if "device_seq" in one.message:
            devices[one.message["device"]].append((int(str(one.message["device_seq"])), occurred(one), one))
    contradicted = [pair for told in devices.values() for pair in _contradicted(told)]
    assert len(contradicted) > 5
    assert [one.message for one in contradicted if one.imported and adverse(one.message)] == []


def _contradicted(told: list[tuple[int, datetime, Delivery]]) -> list[Delivery]:
    """List what an earlier number of the device stamps later, or a later number earlier, by over five minutes."""
    told = sorted(told, key=lambda each: each[0])
    leeway = timedelta(minutes=5)
    latest = list(accumulate((stamp for _, stamp, _ in told), max))
    earliest = list(accumulate((stamp for _, stamp, _ in reversed(told)), min))[::-1]
    return [
        one
        for (_, stamp, one), before, after in zip(told, latest, earliest, strict=True)
        if before > stamp + leeway or after < stamp - leeway
    ]


def test_only_the_last_days_travel_with_keys_of_the_sites(story: Scenario) -> None:
    """The last three days are posted by the sites themselves, all before is an import."""
    edge = END - timedelta(days=3)
    assert all(one.imported is (one.at < edge) for one in story.deliveries if one.expects == "recorded")
    assert {one.key_role for one in story.deliveries if not one.imported} >= {"site-app", "site-lead"}


def test_some_messages_are_late_repeated_and_refused(story: Scenario) -> None:
    """A few in a hundred come an hour late or more, some by weeks; some come twice; five cannot be accepted at once."""
    late = [one.at - occurred(one) for one in story.deliveries if one.key_role == "site-app"]
    share = sum(delay > timedelta(hours=1) for delay in late) / len(late)
    assert 0.01 < share < 0.08
    assert max(late) > timedelta(days=14)
    expected = Counter(one.expects for one in story.deliveries)
    assert expected["repeated"] > 50
    assert expected["rejected"] == 4
    assert 1 <= expected["waiting"] <= 5


def test_a_repeat_is_the_same_message_later(story: Scenario) -> None:
    """What comes twice is equal in every field and comes after the first."""
    first = {str(one.message["id"]): one for one in story.deliveries if one.expects == "recorded"}
    for one in story.deliveries:
        if one.expects == "repeated":
            assert first[str(one.message["id"])].message == one.message
            assert first[str(one.message["id"])].at < one.at


def test_the_year_may_end_on_a_holiday() -> None:
    """With an end in the winter closure every kind and every fate is still there."""
    story = scenario(datetime(2028, 1, 1, 9, 0, tzinfo=UTC))
    assert set(story.truth.counts) == set(BY_NAME)
    assert 57_000 <= sum(story.truth.counts.values()) <= 65_000
    assert len(story.truth.fates) == 15


def test_a_reference_is_a_reference(logged: list[Delivery]) -> None:
    """People are named by numbered references only."""
    people = {str(one.message[name]) for one in logged for name in ("by", "wearer", "person") if name in one.message}
    assert len(people) > 200
    assert all(re.fullmatch(r"p-\d{4}", person) for person in people)
