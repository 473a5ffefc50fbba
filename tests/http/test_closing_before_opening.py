"""A closing ends what was open when it was recorded, and nothing that was told of afterwards and asks for something."""

from itertools import permutations
from typing import Any

import httpx
import pytest

from tests.http.firm import Headers, Message, ago, post
from tests.http.keys import Keys
from tests.http.recall_firm import closed, impact, opened, the_fleet

AFFECTED = ("FX-1", "FX-3", "YD-1")
DRILL = {"rehearsal": True}
TOLD: dict[str, Any] = {"action": "information"}


@pytest.fixture
async def fleet(http: httpx.AsyncClient, administrator: Headers) -> httpx.AsyncClient:
    """Give a client of a firm with three units that have the lot or may have it, and no recall of it yet."""
    await post(http, administrator, *the_fleet())
    return http


async def told(http: httpx.AsyncClient, headers: Headers, *said: Message) -> list[list[str]]:
    """Post messages one by one, and give the codes of the conflicts of each."""
    return [[one["code"] for one in result["conflicts"]] for each in said for result in await post(http, headers, each)]


async def state(http: httpx.AsyncClient, headers: Headers, **asked: str) -> tuple[bool, int]:
    """Say whether the campaign is closed, and how many units are outstanding."""
    found = await impact(http, headers, **asked)
    return found["recall"]["closed_at"] is not None, found["total"]["outstanding"]


async def stopped(http: httpx.AsyncClient, headers: Headers) -> int:
    """Have the units of the recall stopped, and give the status of the answer."""
    return (await http.post("/v1/recalls/rc-1/quarantine", json={"by": "p-1"}, headers=headers)).status_code


async def test_a_closing_that_comes_first_does_not_end_what_it_leaves_out(
    fleet: httpx.AsyncClient, administrator: Headers
) -> None:
    """As in the other order: three units are left without a reason, the campaign goes on, and they can be stopped."""
    assert await told(fleet, administrator, closed(minutes=5), opened({"hours": 1})) == [["unknown-recall"], []]
    assert await state(fleet, administrator) == (False, 3)
    assert await stopped(fleet, administrator) == 200


@pytest.mark.parametrize("first", [True, False])
async def test_in_one_batch_the_order_changes_nothing(
    fleet: httpx.AsyncClient, administrator: Headers, *, first: bool
) -> None:
    """Whether the closing stands before the opening or after it, the campaign goes on."""
    both = [closed(minutes=5), opened({"hours": 1})]
    await post(fleet, administrator, *(both if first else reversed(both)))
    assert await state(fleet, administrator) == (False, 3)


@pytest.mark.parametrize("fields", [DRILL, TOLD])
async def test_what_asked_nothing_was_closed_for_itself_alone(
    fleet: httpx.AsyncClient, administrator: Headers, fields: Any
) -> None:
    """A drill, or an information, is closed without reasons; opened in earnest from before that, the recall goes on."""
    said = opened({"hours": 10}, **fields), closed(hours=2), opened({"hours": 5})
    assert await told(fleet, administrator, *said[:2]) == [[], []]
    assert (await state(fleet, administrator))[0]
    moment = (await impact(fleet, administrator))["known_at"]
    await post(fleet, administrator, said[2])
    assert await state(fleet, administrator) == (False, 3)
    assert await stopped(fleet, administrator) == 200
    assert (await state(fleet, administrator, known_at=moment))[0]
    assert await state(fleet, administrator, as_at=ago(hours=7)) == (False, 3)


@pytest.mark.parametrize("fields", [DRILL, TOLD])
async def test_what_asks_nothing_is_closed_in_any_order(
    fleet: httpx.AsyncClient, administrator: Headers, fields: Any
) -> None:
    """There was nothing to be left out, so a closing that comes before its opening ends it too."""
    assert await told(fleet, administrator, closed(minutes=5), opened({"hours": 1}, **fields)) == [
        ["unknown-recall"],
        [],
    ]
    assert (await state(fleet, administrator))[0]


async def test_its_reasons_count_and_the_next_closing_ends_it(fleet: httpx.AsyncClient, administrator: Headers) -> None:
    """Reasons that came too early are not asked for again; a closing that is held against the recall is."""
    early = closed(*AFFECTED, minutes=5)
    assert await told(fleet, administrator, early, opened({"hours": 1})) == [["unknown-recall"], []]
    assert not (await state(fleet, administrator))[0]
    assert await told(fleet, administrator, closed(minutes=1)) == [[]]
    assert await state(fleet, administrator) == (True, 3)


async def test_more_that_comes_late_was_not_closed(fleet: httpx.AsyncClient, administrator: Headers) -> None:
    """With a reason for each the campaign was ended; another lot told of from before that is asked for, till closed."""
    more = opened({"hours": 1, "minutes": 30}, criteria=[{"item": "pf-170", "lot": "L9"}])
    said = opened({"hours": 2}), closed(*AFFECTED, minutes=30), more
    assert await told(fleet, administrator, *said) == [[], [], []]
    assert await state(fleet, administrator) == (False, 5)
    assert await told(fleet, administrator, closed("FX-2", "FX-4", minutes=20)) == [[]]
    assert (await state(fleet, administrator))[0]


async def test_an_information_that_comes_late_opens_nothing_anew(
    fleet: httpx.AsyncClient, administrator: Headers
) -> None:
    """It asks for nothing, so nothing is left out by the closing that is later than it."""
    await told(fleet, administrator, opened({"hours": 2}), closed(*AFFECTED, minutes=30), opened({"hours": 1}, **TOLD))
    assert (await state(fleet, administrator))[0]


async def test_in_whatever_order_they_arrive_the_recall_goes_on(
    fleet: httpx.AsyncClient, administrator: Headers
) -> None:
    """A drill, its closing, and the recall in earnest from before that: no order of them closes it."""
    for nth, order in enumerate(permutations(range(3))):
        name = f"rc-{nth}"
        drill = opened({"hours": 10}, name, rehearsal=True)
        said = [drill, closed(recall=name, hours=2), opened({"hours": 5}, name)]
        await told(fleet, administrator, *(said[place] for place in order))
        found = await impact(fleet, administrator, name)
        assert (found["recall"]["closed_at"], found["total"]["outstanding"]) == (None, 3)


async def test_a_key_of_a_site_is_told_which_reasons_came_for_units_elsewhere(
    fleet: httpx.AsyncClient, administrator: Headers, keys: Keys
) -> None:
    """Nobody knows yet what the recall bears on; of units that are not at its sites its reasons count for nothing."""
    yard = await keys.make("manager", ["east-yard"])
    (early,) = await post(fleet, yard, closed(*AFFECTED, "FX-99", "YD-1", minutes=5))
    assert early["conflicts"] == [
        {"code": "unknown-recall"},
        {"code": "reason-without-unit", "count": 3, "assets": ["FX-1", "FX-3", "FX-99"]},
        {"code": "reason-given-twice", "count": 1, "assets": ["YD-1"]},
    ]
    (last,) = [await post(fleet, administrator, one) for one in (opened({"hours": 1}), closed(minutes=1))][1]
    assert [(one["code"], one["assets"]) for one in last["conflicts"]] == [("units-outstanding", ["FX-1", "FX-3"])]
    assert await told(fleet, administrator, closed("FX-1", "FX-3", seconds=0)) == [[]]
    assert (await state(fleet, administrator))[0]


async def test_who_may_close_for_all_sites_is_told_nothing_of_units(
    fleet: httpx.AsyncClient, administrator: Headers
) -> None:
    """What its tags mean may be told as late as the recall: each reason is kept."""
    assert await told(fleet, administrator, closed(*AFFECTED, "FX-99", minutes=5)) == [["unknown-recall"]]
    assert await told(fleet, administrator, opened({"hours": 1}), closed(minutes=1)) == [[], []]
