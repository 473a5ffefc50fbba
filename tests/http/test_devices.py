"""The devices that post: what is missing of them, their clocks, and how late they come."""

import csv
from datetime import UTC, datetime, timedelta
from typing import Any

import httpx
import pytest

from tests.http.firm import Message, ago, message, model, registered, site
from tests.http.keys import Keys

Headers = dict[str, str]
KIOSK = "kiosk-3"
ALL_TAKEN: dict[str, Any] = {"refused_count": 0, "refused": []}
GOOD_TIME = {"missing_count": 0, "missing": [], "repeats": 0, "resets": 0} | ALL_TAKEN


@pytest.fixture
async def dock(http: httpx.AsyncClient, administrator: Headers) -> httpx.AsyncClient:
    """Give a client of a firm with two sites and a unit, all of it told by no device."""
    await post(http, administrator, site("harrow-dock"), site("east-yard"), model(), registered())
    return http


async def post(http: httpx.AsyncClient, headers: Headers, *said: Message) -> None:
    """Post events that are all recorded, as one message."""
    answered = await http.post("/v1/events", json=said, headers=headers)
    assert {result["status"] for result in answered.json()["results"]} == {201}, answered.text[-500:]


def counted(number: int | None, hours: float = 1, device: str = KIOSK, **fields: Any) -> Message:
    """Count stock so many hours ago, as a device numbers it."""
    stock = {"item": "pf-170", "quantity": 4.0, "unit": "EA", "site": "harrow-dock"}
    numbered = {} if number is None else {"device_seq": number}
    said = {"occurred_at": ago(hours=hours), "device": device} | numbered | fields
    return message("stock-counted", **(stock | said))


async def devices(http: httpx.AsyncClient, headers: Headers, **asked: Any) -> list[Any]:
    """List the devices."""
    answered = await http.get("/v1/devices", params=asked, headers=headers)
    assert answered.status_code == 200, answered.text
    return list(answered.json()["devices"])


async def counter(http: httpx.AsyncClient, headers: Headers) -> Any:
    """Tell how the kiosk counts."""
    (told,) = await devices(http, headers, device=KIOSK)
    return told["counter"]


async def test_a_firm_without_devices_has_none(dock: httpx.AsyncClient, administrator: Headers) -> None:
    """What was posted by no device lists none."""
    answered = await dock.get("/v1/devices", headers=administrator)

    assert answered.json()["devices"] == []
    assert answered.json()["judged_to"] == 4


async def test_a_gap_is_told_and_closes_by_itself(dock: httpx.AsyncClient, administrator: Headers) -> None:
    """Missing numbers are told, the newest gap first, until what bears them comes, however late."""
    await post(dock, administrator, counted(5, 9), counted(6, 8), counted(9, 5), counted(11, 3))
    gaps = await counter(dock, administrator)
    await post(dock, administrator, counted(8, 6), counted(7, 7), counted(12, 2))
    half = await counter(dock, administrator)
    await post(dock, administrator, counted(10, 4))

    assert (
        gaps
        == {
            "first": 5,
            "last": 11,
            "missing_count": 3,
            "missing": [{"run": 1, "first": 10, "last": 10}, {"run": 1, "first": 7, "last": 8}],
            "repeats": 0,
            "resets": 0,
        }
        | ALL_TAKEN
    )
    assert half["missing"] == [{"run": 1, "first": 10, "last": 10}]
    assert await counter(dock, administrator) == {"first": 5, "last": 12} | GOOD_TIME


async def test_at_most_a_hundred_gaps_are_listed(dock: httpx.AsyncClient, administrator: Headers) -> None:
    """Of more gaps the newest hundred are listed, and all are counted, in one run or more."""
    for times in (1, 2):
        await post(dock, administrator, *(counted(number, 300 / times - number / 10) for number in range(0, 208, 2)))
        told = await counter(dock, administrator)
        assert (told["missing_count"], len(told["missing"])) == (103 * times, 100)
        assert told["missing"][0] == {"run": times, "first": 205, "last": 205}
        assert told["resets"] == times - 1


async def test_the_same_event_again_is_no_repeat(dock: httpx.AsyncClient, administrator: Headers) -> None:
    """An event sent again with its id counts once; its number with another event's id is a repeat."""
    said = counted(1, 3)
    await post(dock, administrator, said, counted(2, 2))
    again = await dock.post("/v1/events", json=said, headers=administrator)
    before = await counter(dock, administrator)
    await post(dock, administrator, said | {"id": counted(1)["id"]})

    assert again.status_code == 200
    assert before == {"first": 1, "last": 2} | GOOD_TIME
    assert await counter(dock, administrator) == {"first": 1, "last": 2} | GOOD_TIME | {"repeats": 1}


async def test_a_reset_begins_to_count_anew(dock: httpx.AsyncClient, administrator: Headers) -> None:
    """A lower number with a later moment is a reset; what was missing before it stays missing and may still come."""
    await post(dock, administrator, counted(1, 9), counted(2, 8), counted(4, 6), counted(1, 5), counted(3, 3))
    both = await counter(dock, administrator)
    await post(dock, administrator, counted(3, 7), counted(2, 4))

    assert (
        both
        == {
            "first": 1,
            "last": 3,
            "missing_count": 2,
            "missing": [{"run": 2, "first": 2, "last": 2}, {"run": 1, "first": 3, "last": 3}],
            "repeats": 0,
            "resets": 1,
        }
        | ALL_TAKEN
    )
    assert await counter(dock, administrator) == {"first": 1, "last": 3} | GOOD_TIME | {"resets": 1}


async def test_a_reset_below_the_first_number_is_one(dock: httpx.AsyncClient, administrator: Headers) -> None:
    """A kiosk that had counted long before it was known, and begins at one again, leaves no gap of thousands."""
    await post(dock, administrator, counted(1841, 4), counted(1842, 3), counted(1, 2), counted(2, 1))

    assert await counter(dock, administrator) == {"first": 1, "last": 2} | GOOD_TIME | {"resets": 1}


async def test_an_entry_of_the_past_is_no_reset(dock: httpx.AsyncClient, administrator: Headers) -> None:
    """Who issues a unit and then takes down what was done with it hours ago has counted on, and begun nothing anew."""
    await post(dock, administrator, counted(1, 1), counted(2, 10))
    two = await counter(dock, administrator)
    await post(dock, administrator, counted(3, 9))

    assert two == {"first": 1, "last": 2} | GOOD_TIME
    assert await counter(dock, administrator) == {"first": 1, "last": 3} | GOOD_TIME


async def test_the_largest_numbers_are_counted(dock: httpx.AsyncClient, administrator: Headers) -> None:
    """Counters may be as large as a field allows, over resets too; more missing numbers than that are told as that."""
    most = 2**63 - 1
    await post(dock, administrator, counted(0, 9), counted(most, 8))
    once = await counter(dock, administrator)
    await post(dock, administrator, *(counted(number, 7 - nth) for nth, number in enumerate([0, most] * 3)))
    often = await counter(dock, administrator)

    assert (once["missing_count"], once["missing"]) == (most - 1, [{"run": 1, "first": 1, "last": most - 1}])
    assert (often["missing_count"], often["resets"]) == (most, 3)


async def test_a_device_without_numbers_is_listed(dock: httpx.AsyncClient, administrator: Headers) -> None:
    """A device that numbers nothing has no counter; a day alone is no moment to be late by."""
    day = (datetime.now(UTC) - timedelta(days=3)).date().isoformat()
    on_a_day = {name: value for name, value in counted(None).items() if name != "occurred_at"}
    await post(dock, administrator, on_a_day | {"occurred_on": day})
    (told,) = await devices(dock, administrator)

    assert (told["device"], told["events"], told["counter"]) == (KIOSK, 1, None)
    assert (told["last_event_at"], told["lateness"]) == (None, None)
    assert told["clock"] == {"offset_seconds": None, "samples": 0, "tolerance_seconds": 300.0, "suspect": False}


async def test_numbers_of_days_alone_are_counted(dock: httpx.AsyncClient, administrator: Headers) -> None:
    """An event that states a day alone has its number like any other."""
    day = (datetime.now(UTC) - timedelta(days=3)).date().isoformat()
    on_a_day = {name: value for name, value in counted(2).items() if name != "occurred_at"} | {"occurred_on": day}
    await post(dock, administrator, counted(1, 3), on_a_day, counted(4, 1))

    assert (await counter(dock, administrator))["missing"] == [{"run": 1, "first": 3, "last": 3}]


@pytest.mark.parametrize(
    ("behind", "suspect"), [(0, False), (200, False), (3600, True), (-200, False), (-3600, True)], ids=str
)
async def test_a_wrong_clock_shows(dock: httpx.AsyncClient, administrator: Headers, behind: int, suspect: bool) -> None:
    """Behind is positive, ahead negative; past the five minutes that the policy bears a clock is suspect."""
    for number, way in enumerate((40, 0, 90), start=1):
        await post(dock, administrator, counted(number, 100, sent_at=ago(seconds=behind + way)))
    (told,) = await devices(dock, administrator)

    assert told["clock"]["offset_seconds"] == pytest.approx(behind, abs=20)
    assert (told["clock"]["samples"], told["clock"]["suspect"]) == (3, suspect)


async def test_a_clock_shows_though_messages_were_queued(dock: httpx.AsyncClient, administrator: Headers) -> None:
    """What was taken down days ago comes late by a right clock, since the clock is stated when it is sent."""
    queued = [counted(number, 100 - number) for number in range(1, 21)]
    headers = administrator | {"date": datetime.now(UTC).strftime("%a, %d %b %Y %H:%M:%S GMT")}
    await post(dock, headers, *queued)
    (told,) = await devices(dock, administrator)

    assert told["clock"]["offset_seconds"] == pytest.approx(0, abs=20)
    assert (told["clock"]["samples"], told["clock"]["suspect"]) == (1, False)
    assert told["lateness"]["median_seconds"] == pytest.approx(89 * 3600, abs=60)
    assert told["lateness"]["p95_seconds"] == pytest.approx(98 * 3600, abs=60)
    assert told["lateness"]["max_seconds"] == pytest.approx(99 * 3600, abs=60)


@pytest.mark.parametrize(("first", "then"), [(0, 3 * 3600), (-900, 0)], ids=["goes wrong", "is set right"])
async def test_a_clock_that_is_set_is_another_one(
    dock: httpx.AsyncClient, administrator: Headers, first: int, then: int
) -> None:
    """From the first message after a step on, whichever way it went, a clock is told by what came since."""
    for number in range(1, 10):
        await post(dock, administrator, counted(number, sent_at=ago(seconds=first)))
    (before,) = await devices(dock, administrator)
    told = []
    for number in (10, 11):
        await post(dock, administrator, counted(number, sent_at=ago(seconds=then)))
        told += await devices(dock, administrator)

    assert before["clock"]["offset_seconds"] == pytest.approx(first, abs=20)
    assert (before["clock"]["samples"], before["clock"]["suspect"]) == (8, first != 0)
    assert [one["clock"]["samples"] for one in told] == [1, 2]
    assert [one["clock"]["offset_seconds"] for one in told] == [pytest.approx(then, abs=20)] * 2
    assert [one["clock"]["suspect"] for one in told] == [then != 0] * 2


async def test_the_policy_of_the_site_says_how_far_a_clock_may_be_off(
    dock: httpx.AsyncClient, administrator: Headers
) -> None:
    """A site may bear more; the device is judged by the site it posted for last."""
    policy = {"policy": "clock", "scope": {"organisation": True, "site": "east-yard"}, "values": {"tolerance": "PT2H"}}
    loosened = policy | {"occurred_at": ago(minutes=1), "reason": "no line for weeks"}
    await post(dock, administrator, message("policy-set", **loosened))
    await post(dock, administrator, counted(1, 9, sent_at=ago(hours=1)))
    (strict,) = await devices(dock, administrator)
    await post(dock, administrator, counted(2, 8, sent_at=ago(hours=1), site="east-yard"))
    (loose,) = await devices(dock, administrator)

    assert (strict["clock"]["tolerance_seconds"], strict["clock"]["suspect"]) == (300.0, True)
    assert (loose["clock"]["tolerance_seconds"], loose["clock"]["suspect"]) == (7200.0, False)
    assert loose["sites"] == ["east-yard", "harrow-dock"]


async def test_an_import_says_nothing_of_clock_and_lateness(dock: httpx.AsyncClient, administrator: Headers) -> None:
    """Records of the past come when somebody brings them; their numbers count all the same."""
    said = [counted(number, 4000 - number, sent_at=ago(hours=2000)) for number in (1, 3)]
    answered = await dock.post("/v1/events", json=said, headers=administrator | {"prefer": "import"})
    (told,) = await devices(dock, administrator)

    assert answered.status_code == 207
    assert (told["clock"]["samples"], told["clock"]["suspect"], told["lateness"]) == (0, False, None)
    assert told["counter"]["missing_count"] == 1


async def test_contacts_and_own_times_are_told(dock: httpx.AsyncClient, administrator: Headers) -> None:
    """First and last contact are receipts; the last event is told by the device's own time."""
    began = datetime.now(UTC)
    await post(dock, administrator, counted(2, 1))
    between = datetime.now(UTC)
    await post(dock, administrator, counted(1, 30))
    (told,) = await devices(dock, administrator)

    first, last = (datetime.fromisoformat(told[name]) for name in ("first_contact", "last_contact"))
    assert began <= first <= between <= last
    assert datetime.fromisoformat(told["last_event_at"]) == pytest.approx(
        began - timedelta(hours=1), abs=timedelta(minutes=1)
    )
    assert told["events"] == 2


async def test_devices_are_listed_page_by_page(dock: httpx.AsyncClient, administrator: Headers) -> None:
    """Devices come by their names; the pages of a list tell of one state, whatever is posted meanwhile."""
    names = [f"kiosk-{number}" for number in range(1, 6)]
    await post(dock, administrator, *(counted(1, device=name) for name in reversed(names)))
    asked: dict[str, Any] = {"limit": 2}
    seen, first_known = [], None
    while True:
        told = (await dock.get("/v1/devices", params=asked, headers=administrator)).json()
        seen += [(one["device"], one["events"]) for one in told["devices"]]
        first_known = first_known or told["known_at"]
        assert told["known_at"] == first_known
        if told["next"] is None:
            break
        await post(dock, administrator, counted(2, device="kiosk-5"), counted(1, device="kiosk-9"))
        asked["after"] = told["next"]

    assert seen == [(name, 1) for name in names]


async def test_devices_are_told_as_they_were_known(dock: httpx.AsyncClient, administrator: Headers) -> None:
    """Asked by what was known at a moment, what came later closes no gap, and no device was there before its first."""
    await post(dock, administrator, counted(1, 9), counted(3, 7), counted(1, 9, device="kiosk-4"))
    then = (await dock.get("/v1/devices", headers=administrator)).json()
    await post(dock, administrator, counted(2, 8), counted(1, 6), counted(7, device="kiosk-5"))
    again = await dock.get("/v1/devices", params={"known_at": then["known_at"]}, headers=administrator)
    before = await devices(dock, administrator, known_at="2026-01-01T00:00:00Z")

    assert again.json() == then
    assert then["devices"][0]["counter"]["missing"] == [{"run": 1, "first": 2, "last": 2}]
    assert before == []


async def test_one_device_is_asked_for(dock: httpx.AsyncClient, administrator: Headers) -> None:
    """By its name one device is told, by a site those that posted for it; a name that none has is refused."""
    await post(dock, administrator, counted(1), counted(1, device="kiosk-4", site="east-yard"))

    async def names(**asked: str) -> list[str]:
        return [one["device"] for one in await devices(dock, administrator, **asked)]

    assert await names(device=KIOSK) == [KIOSK]
    assert await names(site="east-yard") == ["kiosk-4"]
    assert await names(site="east-yard", device="kiosk-4") == ["kiosk-4"]
    assert await names(site="east-yard", device=KIOSK) == []
    refused = await dock.get("/v1/devices", params={"device": "kiosk-99"}, headers=administrator)
    assert (refused.status_code, refused.json()["errors"][0]["parameter"]) == (404, "device")


async def test_a_key_of_a_site_is_told_of_its_events_alone(
    dock: httpx.AsyncClient, administrator: Headers, keys: Keys
) -> None:
    """Of a device that posted for another site too, a key of one is told its own part, and no gaps."""
    own = await keys.make("site-app", ["harrow-dock"])
    late = {"site": "east-yard", "sent_at": ago(hours=3)}
    await post(dock, administrator, counted(1, 9), counted(2, 8, device="kiosk-4"), counted(4, 7, device="kiosk-4"))
    await post(dock, administrator, counted(2, 2, **late), counted(1, device="kiosk-5", site="east-yard"))
    both, whole = await devices(dock, own)
    (all_of_it, *_) = await devices(dock, administrator)

    assert (both["device"], both["sites"], both["events"], both["counter"]) == (KIOSK, ["harrow-dock"], 1, None)
    assert (both["clock"]["samples"], both["lateness"]["max_seconds"]) == (0, pytest.approx(9 * 3600, abs=60))
    assert (whole["device"], whole["counter"]["missing_count"]) == ("kiosk-4", 1)
    assert (all_of_it["events"], all_of_it["counter"]["last"]) == (2, 2)
    assert all_of_it["clock"]["samples"] == 1


async def test_devices_are_told_as_a_table(dock: httpx.AsyncClient, administrator: Headers) -> None:
    """As a table, what is told deeper has columns of its own, and gaps are JSON."""
    await post(dock, administrator, counted(1, 2, sent_at=ago(seconds=0)), counted(3, 1))
    answered = await dock.get("/v1/devices", headers=administrator | {"accept": "text/csv"})
    (row,) = csv.DictReader(answered.content.decode("utf-8-sig").splitlines())

    assert (row["device"], row["sites"], row["counter.missing_count"]) == (KIOSK, "harrow-dock", "1")
    assert row["counter.missing"] == '[{"run":1,"first":2,"last":2}]'
    assert (row["clock.suspect"], row["clock.samples"]) == ("false", "1")
    assert float(row["lateness.max_seconds"]) == pytest.approx(7200, abs=60)


async def refused(http: httpx.AsyncClient, headers: Headers, *said: Message) -> None:
    """Post events that are all refused, each by itself."""
    for one in said:
        answered = await http.post("/v1/events", json=one, headers=headers)
        assert answered.status_code == 422, answered.text


def by_a_clock_ahead(number: int, **fields: Any) -> Message:
    """Count stock now, by a clock that is an hour ahead."""
    return counted(number, -1, sent_at=ago(hours=-1), **fields)


async def test_a_device_whose_clock_is_ahead_is_seen(dock: httpx.AsyncClient, administrator: Headers) -> None:
    """Though all that it says lies in the future and is refused, it was heard of, and its clock shows."""
    began = datetime.now(UTC)
    await refused(dock, administrator, *(by_a_clock_ahead(number) for number in (1, 2, 3)))
    (told,) = await devices(dock, administrator, device=KIOSK)
    listed = await devices(dock, administrator, site="harrow-dock")

    assert listed == [told]
    assert (told["sites"], told["events"], told["refused"]) == (["harrow-dock"], 0, 3)
    assert (told["last_event_at"], told["lateness"]) == (None, None)
    first, last = (datetime.fromisoformat(told[name]) for name in ("first_contact", "last_contact"))
    assert began <= first < last
    assert told["clock"]["offset_seconds"] == pytest.approx(-3600, abs=20)
    assert (told["clock"]["samples"], told["clock"]["suspect"]) == (3, True)
    assert told["counter"] == {"first": 1, "last": 3} | GOOD_TIME | {
        "refused_count": 3,
        "refused": [{"run": 1, "first": 1, "last": 3}],
    }


async def test_what_was_refused_moves_the_last_contact(dock: httpx.AsyncClient, administrator: Headers) -> None:
    """A clock that was right and runs ahead now shows at once, and the device does not look silent."""
    await post(dock, administrator, counted(1, 9, sent_at=ago(seconds=0)), counted(2, 8, sent_at=ago(seconds=0)))
    (before,) = await devices(dock, administrator)
    await refused(dock, administrator, by_a_clock_ahead(3), by_a_clock_ahead(5))
    (after,) = await devices(dock, administrator)

    assert after["first_contact"] == before["first_contact"]
    assert after["last_contact"] > before["last_contact"]
    assert after["last_event_at"] == before["last_event_at"]
    assert (before["clock"]["suspect"], after["clock"]["suspect"], after["clock"]["samples"]) == (False, True, 3)
    assert after["counter"] == {"first": 1, "last": 5} | GOOD_TIME | {
        "missing_count": 1,
        "missing": [{"run": 1, "first": 4, "last": 4}],
        "refused_count": 2,
        "refused": [{"run": 1, "first": 5, "last": 5}, {"run": 1, "first": 3, "last": 3}],
    }


async def test_what_was_refused_and_told_again_rightly_is_recorded(
    dock: httpx.AsyncClient, administrator: Headers
) -> None:
    """Once the clock is set and the same is told by it, nothing is refused or missing, and the past stays as it was."""
    ahead = [by_a_clock_ahead(number) for number in (1, 2)]
    await refused(dock, administrator, *ahead)
    then = (await dock.get("/v1/devices", headers=administrator)).json()
    rightly = [one | {"occurred_at": ago(minutes=1), "sent_at": ago(seconds=0)} for one in ahead]
    await post(dock, administrator, *rightly, counted(3, 0, sent_at=ago(seconds=0)))
    (told,) = await devices(dock, administrator)
    again = await dock.get("/v1/devices", params={"known_at": then["known_at"]}, headers=administrator)

    assert (told["events"], told["counter"]) == (3, {"first": 1, "last": 3} | GOOD_TIME)
    assert (told["clock"]["samples"], told["clock"]["suspect"]) == (1, False)
    assert again.json() == then


async def test_a_message_that_is_no_event_tells_of_its_device(dock: httpx.AsyncClient, administrator: Headers) -> None:
    """Device, number and clock are read of what is refused as far as they can be; what says none is of no device."""
    wrong = {"quantity": "many", "sent_at": ago(hours=2)}
    await post(dock, administrator, counted(1, 3), counted(3, 1))
    for said in (
        counted(2, 2, **wrong),
        counted(4, 1, **wrong) | {"device_seq": 4.5},
        counted(5, 1, **wrong) | {"device_seq": "6", "sent_at": "yesterday"},
        counted(7, 1, **wrong) | {"device": "kiosk 3"},
    ):
        await refused(dock, administrator, said)
    (told,) = await devices(dock, administrator)

    assert (told["events"], told["refused"], told["clock"]["samples"]) == (2, 3, 2)
    assert told["clock"]["offset_seconds"] == pytest.approx(7200, abs=20)
    assert told["counter"] == {"first": 1, "last": 3} | GOOD_TIME | {
        "refused_count": 1,
        "refused": [{"run": 1, "first": 2, "last": 2}],
    }


async def test_a_key_of_a_site_is_told_of_what_was_refused_there(
    dock: httpx.AsyncClient, administrator: Headers, keys: Keys
) -> None:
    """What was refused of another site is none of its own: it sees neither the device nor, of one it sees, the gaps."""
    own = await keys.make("site-app", ["harrow-dock"])
    await post(dock, administrator, counted(1, 1))
    await refused(dock, administrator, by_a_clock_ahead(2, site="east-yard"))
    await refused(dock, administrator, by_a_clock_ahead(1, site="east-yard", device="kiosk-4"))
    await refused(dock, administrator, by_a_clock_ahead(1, device="kiosk-5"))
    first, last = await devices(dock, own)

    assert [one["device"] for one in await devices(dock, administrator)] == [KIOSK, "kiosk-4", "kiosk-5"]
    assert (first["device"], first["refused"], first["counter"], first["clock"]["samples"]) == (KIOSK, 0, None, 0)
    assert (last["device"], last["refused"], last["counter"]["refused_count"]) == ("kiosk-5", 1, 1)


async def test_a_message_has_one_receipt_whatever_became_of_its_events(
    dock: httpx.AsyncClient, administrator: Headers
) -> None:
    """Of an array with one refusal the clock has one sample; what an import brought says nothing of it."""
    said = [counted(1, 2, sent_at=ago(seconds=9)), by_a_clock_ahead(2) | {"sent_at": ago(seconds=5)}]
    answered = await dock.post("/v1/events", json=said, headers=administrator)
    (told,) = await devices(dock, administrator)
    await dock.post("/v1/events", json=[by_a_clock_ahead(3)], headers=administrator | {"prefer": "import"})
    (after,) = await devices(dock, administrator)

    assert [one["status"] for one in answered.json()["results"]] == [201, 422]
    assert (told["clock"]["samples"], told["clock"]["offset_seconds"]) == (1, pytest.approx(5, abs=3))
    assert after["clock"] == told["clock"]
    assert after["refused"] == 2
