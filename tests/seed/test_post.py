from collections import Counter
from datetime import UTC, datetime, timedelta

import pytest

from seed.adverse import adverse
from seed.book import Book, Entry
from seed.clocks import DAYS_LOST, DRIFTING, HOUR_LOST, SLOW, wrong_clocks
from seed.dice import Dice
from seed.offline import Offline
from seed.post import deliver
from seed.roles import role_of

START = datetime(2026, 1, 5, 6, 0, tzinfo=UTC)
END = START + timedelta(days=100)


def checks(device: str, days: int) -> list[Entry]:
    """Write one check a day on a device."""
    book = Book(3)
    fields = {"asset": "FX-0001", "points": {"airflow": "pass"}, "battery_percent": 80}
    for day in range(days):
        book.write("checked", START + timedelta(days=day), "p-1201", "callow-forge", device, fields)
    return book.entries


def test_the_book_leaves_empty_fields_out() -> None:
    """A field without a value is not written; the envelope comes first."""
    entry = Book(3).write("issued", START, "p-1201", None, None, {"asset": "FX-0001", "task": None})
    assert list(entry.message) == ["id", "kind", "occurred_at", "by", "asset"]
    assert entry.message["occurred_at"] == "2026-01-05T06:00:00+00:00"


@pytest.mark.parametrize(
    ("kind", "role"),
    [
        ("checked", "site-app"),
        ("stock-received", "site-app"),
        ("released", "site-lead"),
        ("retired", "site-lead"),
        ("retagged", "site-lead"),
        ("voided", "site-lead"),
        ("trained", "site-lead"),
        ("stock-moved", "site-lead"),
        ("order-placed", "manager"),
        ("recall-opened", "manager"),
        ("policy-set", "administrator"),
    ],
)
def test_a_kind_travels_with_the_least_role_that_may_post_it(kind: str, role: str) -> None:
    """Site apps post what happens to units, but not releases, retirements, new tags and voidings (R37)."""
    assert role_of(kind) == role


@pytest.mark.parametrize(
    ("message", "bad"),
    [
        ({"kind": "failed-check"}, True),
        ({"kind": "quarantined"}, True),
        ({"kind": "checked", "points": {"airflow": "fail"}}, True),
        ({"kind": "checked", "points": {}, "airflow_indicator": "below"}, True),
        ({"kind": "examined", "points": {}, "result": "fail"}, True),
        ({"kind": "checked", "points": {"airflow": "pass"}}, False),
        ({"kind": "released"}, False),
    ],
)
def test_bad_news_is_told_by_kind_and_content(message: dict[str, object], bad: bool) -> None:
    """A message is bad news by its kind, a failing point, an indicator below or a result (R1)."""
    assert adverse(message) is bad


def test_messages_are_numbered_and_delivered_in_order() -> None:
    """A hundred daily checks get the numbers 1 to 100, arrive after they were made, and by the end."""
    delivered = deliver(checks("cf-kiosk-1", 100) + _benches(), 3, END)
    proper = [one for one in delivered if one.expects == "recorded" and one.message.get("device") == "cf-kiosk-1"]
    numbers = [int(str(one.message["device_seq"])) for one in proper]
    assert numbers == list(range(1, len(numbers) + 1))
    assert all(START <= one.at <= END for one in delivered)
    assert [one.at for one in delivered] == sorted(one.at for one in delivered)


def _benches() -> list[Entry]:
    book = Book(4)
    for number in range(3):
        book.write("examined", START, "p-1202", "callow-forge", f"c{number}-bench", {"asset": "FX-0002", "points": {}})
    return book.entries


def test_what_is_written_off_line_waits_for_the_line() -> None:
    """A message leaves at once or at the end of its device's spell, never before it was written."""
    entries = checks("cf-kiosk-1", 100) + _benches()
    offline = Offline(Dice.named(3, "post"), entries, END)
    waits = Counter(offline.online("cf-kiosk-1", entry.at) > entry.at for entry in entries[:100])
    assert waits[True] >= 1
    assert waits[False] >= 60
    assert offline.online(None, START) == START


def test_a_drifting_clock_gains_until_it_is_set() -> None:
    """The drifting kiosk gains 28 seconds a day and is set every 14 days."""
    clocks = wrong_clocks(checks(DRIFTING, 100), END)
    assert [clocks.ahead(DRIFTING, START + timedelta(days=day)) for day in (0, 1, 13, 14, 15)] == [0, 28, 364, 0, 28]
    assert clocks.ahead("cf-kiosk-1", START + timedelta(days=5)) == 0


@pytest.mark.parametrize(("device", "ahead", "days"), [(HOUR_LOST, -3600, 2), (DAYS_LOST, -259_200, 1)])
def test_a_lost_clock_is_wrong_on_quiet_days_only(device: str, ahead: int, days: int) -> None:
    """An hour is lost for two days and three days for one, where no bad news is near."""
    entries = checks(device, 100)
    bad = Book(5).write("quarantined", START + timedelta(days=37), "p-1201", "brackmoor", device, {"asset": "FX-0001"})
    clocks = wrong_clocks([*entries, bad], END)
    wrong = [day for day in range(100) if clocks.ahead(device, START + timedelta(days=day)) == ahead]
    assert len(wrong) == days
    assert all(abs(day - 37) > 5 for day in wrong)


def test_the_slow_clock_is_slow_in_the_last_two_days() -> None:
    """The slow kiosk lags 17 minutes in the last two days."""
    clocks = wrong_clocks(checks(SLOW, 100), END)
    assert clocks.ahead(SLOW, END - timedelta(days=3)) == 0
    assert clocks.ahead(SLOW, END - timedelta(days=1)) == -1020


def test_a_slow_clock_stamps_and_says_so() -> None:
    """A live message of the slow kiosk carries an earlier moment, and its delivery says how far the clock lags."""
    entries = checks(SLOW, 100) + _benches()
    last = [one for one in deliver(entries, 3, END) if one.message.get("device") == SLOW and one.clock_ahead]
    assert {one.clock_ahead for one in last} == {-1020}
    assert last[-1].message["occurred_at"] == "2026-04-14T05:43:00+00:00"
