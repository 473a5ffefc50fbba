from datetime import UTC, datetime, timedelta

import msgspec
import pytest

from seed.delivery import Delivery
from seed.load import Posted, post_story, reread
from seed.scenario import Scenario
from seed.wire import LoadError, NoAnswer, Refused
from tests.seed.peer import Peer, listening
from tests.seed.test_batches import KEYS

START = datetime(2026, 11, 20, 6, 0, tzinfo=UTC)


def told(number: int, site: str, **more: object) -> Delivery:
    """Make a delivery of the import."""
    message = {"id": f"id-{number}", "kind": "checked", "asset": f"FX-{number:04d}", "site": site}
    return Delivery(
        message=message | more, at=START + timedelta(minutes=number), key_role="site-app", site=site, imported=True
    )


def short(story: Scenario, *more: Delivery) -> Scenario:
    """Make a story of sixty imported messages of two sites, and more."""
    proper = [told(number, ("harrow-dock", "callow-forge")[number % 2]) for number in range(60)]
    return Scenario((*proper, *more), story.truth)


async def load(peer: Peer, story: Scenario) -> tuple[Posted, list[tuple[int, int]]]:
    """Post a story to a peer; gives the report and the words of progress."""
    progress: list[tuple[int, int]] = []
    with listening(peer) as address:
        report = await post_story(address, KEYS, lambda done, total: progress.append((done, total)), story)
    return report, progress


async def test_everything_is_posted_once_with_progress(story: Scenario) -> None:
    """Sixty new messages and one repeat are answered 201 sixty times and 200 once, and progress ends at all of them."""
    again = msgspec.structs.replace(told(7, "callow-forge"), at=START + timedelta(days=1), expects="repeated")
    report, progress = await load(peer := Peer(), short(story, again))
    assert report.statuses == {201: 60, 200: 1}
    assert sum(len(messages) for _, messages in peer.posted) == 61
    assert progress[-1] == (61, 61)


async def test_an_import_says_so_and_states_no_clock(story: Scenario) -> None:
    """Imported batches go with the administrator's key and `Prefer: import`; no message has `sent_at`."""
    await load(peer := Peer(), short(story))
    assert {headers["Prefer"] for headers, _ in peer.posted} == {"import"}
    assert {headers["Authorization"] for headers, _ in peer.posted} == {"Bearer k-administrator"}
    assert all("sent_at" not in message for _, messages in peer.posted for message in messages)


async def test_a_live_message_states_its_devices_clock(story: Scenario) -> None:
    """A live message goes with its site's key and says what its device's clock shows now, here 1,020 seconds behind."""
    live = msgspec.structs.replace(told(90, "saltreach"), imported=False, clock_ahead=-1020)
    await load(peer := Peer(), short(story, live))
    [(headers, [message])] = [one for one in peer.posted if "Prefer" not in one[0]]
    assert headers["Authorization"] == "Bearer k-saltreach"
    lag = datetime.now(UTC) - datetime.fromisoformat(message["sent_at"])
    assert timedelta(seconds=1020) <= lag < timedelta(seconds=1080)


async def test_fifty_summaries_are_asked_again(story: Scenario) -> None:
    """Fifty summaries are saved and asked again; all read the same."""
    with listening(peer := Peer()) as address:
        posted = await post_story(address, KEYS, lambda _done, _total: None, short(story))
        assert len(posted.saved) == 50
        assert await reread(address, KEYS, posted) == ()
    assert peer.summaries == 100


async def test_a_summary_that_changed_is_named(story: Scenario) -> None:
    """Where every answer differs, all fifty moments are named."""
    with listening(Peer(forgetful=True)) as address:
        posted = await post_story(address, KEYS, lambda _done, _total: None, short(story))
        assert len(await reread(address, KEYS, posted)) == 50


async def test_an_expected_refusal_is_no_failure(story: Scenario) -> None:
    """A message of a wrong tag that should be rejected may be."""
    wrong = msgspec.structs.replace(told(80, "callow-forge", asset="FX-7113"), expects="rejected")
    report, _ = await load(Peer(), short(story, wrong))
    assert report.statuses == {201: 60, 422: 1}


async def test_an_unexpected_refusal_stops_the_load(story: Scenario) -> None:
    """A rejected message that should have been recorded ends the load and is named with its problem."""
    wrong = told(80, "callow-forge", asset="FX-7113")
    with pytest.raises(LoadError, match=r"recorded was expected of .*id-80.* not 422 .*unknown-asset"):
        await load(Peer(), short(story, wrong))


async def test_an_unexpected_acceptance_stops_the_load(story: Scenario) -> None:
    """A message that should have been rejected and is recorded ends the load."""
    wrong = msgspec.structs.replace(told(80, "callow-forge"), expects="rejected")
    with pytest.raises(LoadError, match=r"rejected was expected of .*id-80.* not 201"):
        await load(Peer(), short(story, wrong))


async def test_a_refused_request_stops_the_load(story: Scenario) -> None:
    """A status other than 207 for a whole batch ends the load with that status."""
    with pytest.raises(Refused, match=r"/v1/events: 401"):
        await load(Peer(status=401), short(story))


async def test_no_answer_stops_the_load(story: Scenario) -> None:
    """Where nobody listens the load ends and says which request got no answer."""
    with listening(Peer()) as address:
        gone = address
    with pytest.raises(NoAnswer, match="POST /v1/events: no answer"):
        await post_story(gone, KEYS, lambda _done, _total: None, short(story))
