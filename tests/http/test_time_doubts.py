"""What speaks against the moment of an event is told with it."""

from typing import Any

import httpx

from tests.http.firm import Headers, Message, ago, checked, failed, issued, message, post

PATH = "/v1/assets/FX-0142/history"


async def doubts(http: httpx.AsyncClient, headers: Headers, *said: Message) -> list[Any]:
    """Read events one by one and in the unit's history, and give what speaks against the moment of each."""
    events = (await http.get(PATH, headers=headers)).json()["events"]
    in_history = {event["id"]: event["time_doubts"] for event in events}
    alone = [(await http.get(f"/v1/events/{one['id']}", headers=headers)).json()["time_doubts"] for one in said]
    return [(one, in_history[event["id"]]) for one, event in zip(alone, said, strict=True)]


async def test_a_wrong_clock_is_told_with_good_and_bad_news(firm: httpx.AsyncClient, administrator: Headers) -> None:
    """A sender's clock that is off by more than five minutes marks whatever it stamped, and nothing else."""
    right, wrong = issued(sent_at=ago(seconds=1)), checked(sent_at=ago(hours=2))
    bad = failed(sent_at=ago(minutes=-9))
    await post(firm, administrator, right, wrong, bad)

    assert await doubts(firm, administrator, right, wrong, bad) == [
        ([], []),
        (["clock"], ["clock"]),
        (["clock"], ["clock"]),
    ]


async def test_a_counter_that_contradicts_bad_news_is_told(firm: httpx.AsyncClient, administrator: Headers) -> None:
    """Bad news whose device's next number lies before it has its moment doubted."""
    bad = failed(device="kiosk-3", device_seq=7, occurred_at=ago(hours=2), sent_at=ago(seconds=0))
    after = issued(device="kiosk-3", device_seq=8, occurred_at=ago(hours=5), sent_at=ago(seconds=0))
    await post(firm, administrator, bad, after)

    assert await doubts(firm, administrator, bad, after) == [(["counter"], ["counter"]), ([], [])]


async def test_what_a_unit_says_against_a_moment_is_told(firm: httpx.AsyncClient, administrator: Headers) -> None:
    """That it was not registered, or that good news overtook the bad, is told in its history alone, in order."""
    early = failed(occurred_at=ago(hours=40), sent_at=ago(seconds=0))
    late, good = failed(occurred_at=ago(hours=4)), issued(occurred_at=ago(hours=3))
    await post(firm, administrator, good, early, late)

    assert await doubts(firm, administrator, early, late, good) == [
        ([], ["before-registration"]),
        ([], ["late"]),
        ([], []),
    ]
    events = (await firm.get(PATH, headers=administrator)).json()["events"]
    assert [event["kind"] for event in events] == ["failed-check", "registered", "failed-check", "issued"]


async def test_bad_news_by_a_fast_clock_takes_the_unit_out_of_use_at_once(
    firm: httpx.AsyncClient, administrator: Headers
) -> None:
    """Stamped some minutes ahead it does not wait for its moment, and its history says so; good news waits."""
    good, bad = checked(occurred_at=ago(minutes=-2)), failed(occurred_at=ago(minutes=-3))
    answered = await post(firm, administrator, issued(), good, bad)
    unit = (await firm.get("/v1/assets/FX-0142", headers=administrator)).json()

    assert {one["asset"]["do_not_use"] for one in answered} == {True}
    assert (unit["phase"], unit["do_not_use"]) == ("quarantined", True)
    assert await doubts(firm, administrator, good, bad) == [([], []), (["ahead"], ["ahead"])]


async def test_what_was_taken_back_is_told_with_its_doubts(firm: httpx.AsyncClient, administrator: Headers) -> None:
    """An event that counts no more keeps what its message says against its moment; so does the one that took it."""
    gone = checked(sent_at=ago(hours=2))
    voided = message("voided", event=gone["id"], reason="another unit", sent_at=ago(hours=3))
    await post(firm, administrator, gone)
    await post(firm, administrator, voided)

    assert await doubts(firm, administrator, gone, voided) == [(["clock"], ["clock"]), (["clock"], ["clock"])]


async def test_doubts_stand_in_the_table(firm: httpx.AsyncClient, administrator: Headers) -> None:
    """As a table, a history has them in its last column, as words."""
    await post(firm, administrator, checked(sent_at=ago(hours=2)))
    answered = await firm.get(PATH, headers=administrator | {"accept": "text/csv"})
    head, *_, last = answered.content.decode("utf-8-sig").splitlines()

    assert (head.split(",")[-1], last.split(",")[-1]) == ("time_doubts", "clock")
