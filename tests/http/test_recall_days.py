"""Events that state a day alone, under recalls: they count from the beginning of their day, whatever a unit is called.

FX-2 was retagged FX-20 long ago. What was done about it is told from its events; of FX-1, which has one tag, the index
tells it. Both must be told the same.
"""

from datetime import UTC, date, datetime, timedelta
from typing import Any

import httpx
import pytest

from tests.http.firm import Headers, Message, ago, message, model, post, site
from tests.http.keys import Keys
from tests.http.recall_firm import BAD, hood, impact, opened, units

DAY = datetime.now(UTC).date() - timedelta(days=3)
TWINS = ("FX-1", "FX-20")
STEPS = ("last_spoken_at", "located_at", "stopped_at")


def at(day: date, time: str = "00:00") -> str:
    """Give a moment of a day in UTC."""
    return f"{day}T{time}:00Z"


def cleaned(tag: str, **fields: Any) -> Message:
    """Wipe a unit on the day, at the dock if not said otherwise."""
    when = {} if "occurred_at" in fields else {"occurred_on": str(DAY), "site": "harrow-dock"}
    return message("cleaned", asset=tag, scope="unit", method="wiped", **(when | fields))


def steps(told: Any) -> list[tuple[str | None, ...]]:
    """Give of the twins when each was last spoken of, located and stopped."""
    return [tuple(units(told)[tag][step] for step in STEPS) for tag in TWINS]


async def both(http: httpx.AsyncClient, headers: Headers, recall: str = "rc-1", **asked: str) -> tuple[str | None, ...]:
    """Give what both twins are told alike."""
    one, other = steps(await impact(http, headers, recall, **asked))
    assert one == other
    return one


@pytest.fixture
async def twins(http: httpx.AsyncClient, administrator: Headers) -> httpx.AsyncClient:
    """Give a client of a firm with two units that have the lot, one of them under its second tag."""
    long_ago = ago(days=10)
    await post(
        http,
        administrator,
        *(site("harrow-dock", time_zone="Etc/UTC"), model()),
        site("west", time_zone="America/Los_Angeles", profile="us"),
        *(hood(tag, BAD, occurred_at=long_ago) for tag in ("FX-1", "FX-2")),
        message("retagged", asset="FX-2", new_tag="FX-20", occurred_at=long_ago),
    )
    return http


async def open_at(http: httpx.AsyncClient, headers: Headers, moment: str, recall: str = "rc-1", **fields: Any) -> None:
    """Open the recall at a moment."""
    await post(http, headers, opened({}, recall, occurred_at=moment, **fields))


async def test_a_day_locates_from_its_beginning(twins: httpx.AsyncClient, administrator: Headers) -> None:
    """However long before the day the drill was opened: the day before is none on which anybody had it in hand."""
    before = DAY - timedelta(days=1)
    await open_at(twins, administrator, at(before), rehearsal=True)
    await open_at(twins, administrator, at(before, "10:00"), "rc-2", rehearsal=True)
    await post(twins, administrator, *map(cleaned, TWINS))

    for recall, took in (("rc-1", 86_400), ("rc-2", 50_400)):
        told = await impact(twins, administrator, recall)
        assert steps(told) == [(at(DAY), at(DAY), None)] * 2
        assert (told["total"]["located"], told["total"]["silent"]) == (2, 0)
        assert told["rehearsal"]["located"]["max_seconds"] == took


async def test_a_day_that_has_not_begun_locates_nobody(twins: httpx.AsyncClient, administrator: Headers) -> None:
    """Asked as at the day before, nobody had it in hand or spoke of it; as at the first moment of the day somebody."""
    await open_at(twins, administrator, at(DAY - timedelta(days=2)))
    registered = units(await impact(twins, administrator, as_at=at(DAY - timedelta(days=1))))["FX-1"]["last_spoken_at"]
    await post(twins, administrator, *map(cleaned, TWINS))

    told = await impact(twins, administrator, as_at=at(DAY - timedelta(days=1), "12:00"))
    assert steps(told)[0] == (registered, None, None)
    assert [one[1:] for one in steps(told)] == [(None, None)] * 2
    assert told["total"]["located"] == 0
    assert await both(twins, administrator, as_at=at(DAY)) == (at(DAY), at(DAY), None)


async def test_a_day_is_that_of_where_the_unit_was(http: httpx.AsyncClient, administrator: Headers) -> None:
    """Put away on a day, and no site told: that day began eight hours later there, after the recall was opened."""
    long_ago = ago(days=10)
    await post(
        http,
        administrator,
        *(site("west", time_zone="America/Phoenix", profile="us"), model()),
        *(hood(tag, BAD, site="west", occurred_at=long_ago) for tag in ("FX-1", "FX-2")),
        message("retagged", asset="FX-2", new_tag="FX-20", occurred_at=long_ago),
        opened({}, occurred_at=at(DAY, "05:00")),
        *(
            message("quarantined", asset=tag, reason="recall", recall="rc-1", place="cage", occurred_on=str(DAY))
            for tag in TWINS
        ),
        *(message("recall-actioned", asset=tag, recall="rc-1", result="fixed") for tag in TWINS),
    )
    one, other = steps(await impact(http, administrator))
    assert one[1:] == other[1:] == (at(DAY, "07:00"), at(DAY, "07:00"))


async def test_an_order_of_a_day_stops_where_the_unit_was(http: httpx.AsyncClient, administrator: Headers) -> None:
    """From a desk too, where nobody has the unit in hand; and once it was released."""
    await post(
        http,
        administrator,
        *(site("west", time_zone="America/Phoenix", profile="us"), model()),
        hood("FX-1", BAD, site="west", occurred_at=ago(days=10)),
        opened({}, occurred_at=at(DAY, "05:00")),
        message("quarantined", asset="FX-1", reason="recall", recall="rc-1", occurred_on=str(DAY), sent_at=ago()),
        message("recall-actioned", asset="FX-1", recall="rc-1", result="fixed", occurred_at=at(DAY, "18:00")),
        message("trained", person="p-3071", competences=["release"], by="p-2", occurred_at=ago(days=9)),
        message("released", asset="FX-1", occurred_at=ago(hours=2)),
    )
    found = units(await impact(http, administrator))["FX-1"]
    assert (found["phase"], found["located_at"]) == ("in-store", at(DAY, "18:00"))
    assert found["stopped_at"] == at(DAY, "07:00")


async def test_a_day_hides_behind_no_moment(twins: httpx.AsyncClient, administrator: Headers) -> None:
    """The evening before is neither the last word nor the first sight, though the day is looked for from before it."""
    evening, later = (f"{DAY - timedelta(days=1)}T18:00:00Z", at(DAY, "09:00"))
    await post(twins, administrator, *(cleaned(tag, occurred_at=evening) for tag in TWINS), *map(cleaned, TWINS))
    await open_at(twins, administrator, at(DAY - timedelta(days=1), "20:00"))

    assert await both(twins, administrator) == (at(DAY), at(DAY), None)
    await post(twins, administrator, *(cleaned(tag, occurred_at=later) for tag in TWINS))
    assert await both(twins, administrator) == (later, at(DAY), None)
    assert await both(twins, administrator, as_at=at(DAY - timedelta(days=1), "23:00")) == (evening, None, None)


async def test_a_moment_hides_behind_no_day(twins: httpx.AsyncClient, administrator: Headers) -> None:
    """A day that began before the recall locates nobody since; what came later that day does."""
    await open_at(twins, administrator, at(DAY, "06:00"))
    await post(twins, administrator, *map(cleaned, TWINS))
    assert await both(twins, administrator) == (at(DAY), None, None)
    await post(twins, administrator, *(cleaned(tag, occurred_at=at(DAY, "09:00")) for tag in TWINS))
    assert await both(twins, administrator) == (at(DAY, "09:00"), at(DAY, "09:00"), None)


async def test_a_day_in_the_west_is_found_though_it_began_much_later(
    twins: httpx.AsyncClient, administrator: Headers
) -> None:
    """It may begin half a day after that day in UTC; the recall was opened in between."""
    await post(twins, administrator, site("isle", time_zone="Etc/GMT+12"))
    await open_at(twins, administrator, at(DAY, "11:00"))
    await post(twins, administrator, *(cleaned(tag, site="isle") for tag in TWINS))
    assert await both(twins, administrator) == (at(DAY, "12:00"), at(DAY, "12:00"), None)
    assert (await both(twins, administrator, as_at=at(DAY, "11:59")))[1] is None


async def test_a_clock_that_is_ahead_is_told_as_it_said(twins: httpx.AsyncClient, administrator: Headers) -> None:
    """Received before the moment that it states, an event counts at that moment, and not yet as at an earlier one."""
    soon = (datetime.now(UTC) + timedelta(minutes=4)).replace(microsecond=0)
    await open_at(twins, administrator, ago(minutes=1))
    await post(twins, administrator, *(cleaned(tag, occurred_at=soon.isoformat()) for tag in TWINS))

    assert (await both(twins, administrator))[1:] == (None, None)
    said = soon.isoformat().replace("+00:00", "Z")
    assert await both(twins, administrator, as_at=said) == (said, said, None)


async def test_what_was_taken_back_is_no_last_word(
    twins: httpx.AsyncClient, administrator: Headers, keys: Keys
) -> None:
    """Neither what did not happen nor who said so speaks of the unit."""
    await open_at(twins, administrator, at(DAY))
    done = [cleaned(tag, occurred_at=at(DAY, "08:00")) for tag in TWINS]
    wrong = [cleaned(tag, occurred_at=at(DAY, "09:00")) for tag in TWINS]
    await post(twins, administrator, *done, *wrong)
    void = [message("voided", event=one["id"], reason="another", by="p-2", occurred_at=ago(days=1)) for one in wrong]
    await post(twins, await keys.make("manager"), *void)

    assert await both(twins, administrator) == (at(DAY, "08:00"), at(DAY, "08:00"), None)
