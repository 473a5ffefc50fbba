"""Events on their way to receivers, over real HTTP and a real database."""

import asyncio
from datetime import UTC, datetime, timedelta
from typing import Any
from uuid import UUID, uuid4

import httpx
import psycopg
import pytest

from service.commands.prune import pruned
from service.pushing import line
from service.settings import Settings
from tests.http.contract import validator
from tests.http.doors import OURS
from tests.http.firm import message
from tests.http.keys import Keys
from tests.push.conftest import Headers, sending
from tests.push.hooks import Hook, hooked
from tests.push.receiver import Got, receiving, status, taken

STOCK = {"item": "pf-170", "quantity": 1.0, "unit": "EA"}


async def post(http: httpx.AsyncClient, headers: Headers, *kinds: str, site: str = "harrow-dock") -> list[int]:
    """Post events of a kind each, and give their seqs."""
    said = [message(kind, site=site, **STOCK, **({"reason": "damage"} if "dis" in kind else {})) for kind in kinds]
    answered = await http.post("/v1/events", json=said, headers=headers)
    assert {result["status"] for result in answered.json()["results"]} == {201}, answered.text
    return [result["seq"] for result in answered.json()["results"]]


async def test_events_come_signed_and_in_order(http: httpx.AsyncClient, integrator: Headers) -> None:
    """All that was recorded comes once, in order, verified by the published library, and says what the feed says."""
    async with receiving() as receiver:
        hook = await hooked(http, integrator, receiver.url)
        got = await receiver.until(4)
        told = [one.verified(hook.secret) for one in got]
        await hook.until(passed=4, waiting=0, dead=0)
    feed = (await http.get("/v1/events", headers=integrator)).json()["events"]
    assert [one["data"] for one in told] == feed
    described = validator("#/components/schemas/CloudEvent")
    assert [error.message for one in told for error in described.iter_errors(one)] == []
    assert [one.headers["webhook-id"] for one in got] == [event["id"] for event in feed]
    assert {one.headers["content-type"] for one in got} == {"application/cloudevents+json; charset=UTF-8"}
    deliveries = (await hook.told())["deliveries"]
    assert [(one["seq"], one["state"], one["attempts"], one["status"]) for one in deliveries] == [
        (seq, "delivered", 1, 204) for seq in (4, 3, 2, 1)
    ]


async def test_what_is_recorded_later_comes_by_itself(http: httpx.AsyncClient, integrator: Headers) -> None:
    """A webhook made without a place to begin at is sent what is recorded from then on, as it is recorded."""
    async with receiving() as receiver:
        hook = await hooked(http, integrator, receiver.url, after=None)
        await hook.until(passed=4)
        seqs = await post(http, integrator, "stock-received")
        await receiver.until(1)
        assert receiver.seqs == seqs == [5]


async def test_only_what_is_asked_for_comes(
    http: httpx.AsyncClient, integrator: Headers, administrator: Headers
) -> None:
    """Kinds, a site and a subject narrow what comes; what is passed over is passed."""
    await post(http, administrator, "stock-received", "stock-counted", "stock-discarded")
    await post(http, administrator, "stock-received", site="east-yard")
    async with receiving() as kinds, receiving() as site, receiving() as subject:
        hooks = [
            await hooked(http, integrator, kinds.url, kinds=["stock-received", "stock-discarded"]),
            await hooked(http, integrator, site.url, site="east-yard", kinds=["stock-received"]),
            await hooked(http, integrator, subject.url, subject="site:east-yard"),
        ]
        for hook in hooks:
            await hook.until(passed=8)
        assert kinds.seqs == [5, 7, 8]
        assert site.seqs == [8]
        assert subject.seqs == [2, 8]


async def test_a_key_of_a_site_is_sent_its_sites_events(
    http: httpx.AsyncClient, keys: Keys, administrator: Headers
) -> None:
    """A webhook sees what the key sees that made it, also after a key that sees more has changed it."""
    bound = await keys.make("integrator", ["east-yard"])
    await post(http, administrator, "stock-received")
    async with receiving() as receiver:
        hook = await hooked(http, bound, receiver.url)
        await hook.until(passed=5)
        changed = await hook._replace(headers=administrator).put(purpose="looked at")
        assert changed.json()["sites"] == ["east-yard"]
        seqs = await post(http, administrator, "stock-received", site="east-yard")
        await hook.until(passed=6)
        assert receiver.seqs == [2, *seqs]


async def test_a_failed_message_comes_again_behind_others(
    http: httpx.AsyncClient, integrator: Headers, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A message that its receiver refuses does not hold up those behind it, and comes again with the same id."""
    at_once(monkeypatch)
    refusals = iter([422])

    async def answer(got: Got) -> bytes:
        return status(next(refusals, 200)) if got.event["data"]["seq"] == 2 else status(200)

    async with receiving(answer) as receiver:
        hook = await hooked(http, integrator, receiver.url)
        await hook.until(passed=4, waiting=0)
        assert sorted(receiver.seqs) == [1, 2, 2, 3, 4]
        first, second = (got for got in receiver.got if got.event["data"]["seq"] == 2)
        assert first.headers["webhook-id"] == second.headers["webhook-id"]
        (again,) = [one for one in (await hook.told())["deliveries"] if one["seq"] == 2]
        assert (again["state"], again["attempts"], again["status"], again["error"]) == ("delivered", 2, 200, None)


async def test_refused_messages_hold_up_no_others(
    http: httpx.AsyncClient, integrator: Headers, administrator: Headers, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A receiver that refuses one kind is sent all others, however many of that kind wait; it counts as well."""
    monkeypatch.setattr(line, "MOST_WAITING", 2)

    async def picky(got: Got) -> bytes:
        return status(422 if got.event["data"]["kind"] == "stock-counted" else 204)

    async with receiving(picky) as receiver, asyncio.timeout(20):
        hook = await hooked(http, integrator, receiver.url, after=None)
        await post(http, administrator, *["stock-counted"] * 4, "stock-received")
        told = await hook.until(passed=9, waiting=4)
        assert receiver.seqs.count(9) == 1
        assert told["progress"]["failing_since"] is None


async def test_what_a_receiver_that_is_away_is_to_be_sent_holds_up_the_log(
    http: httpx.AsyncClient, integrator: Headers, owner_url: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """With as many messages waiting for a receiver to be well as may, none is taken from the log: nothing is lost."""
    monkeypatch.setattr(line, "MOST_WAITING", 2)

    async def away(_: Got) -> bytes:
        return status(503)

    async with receiving(away) as receiver, asyncio.timeout(20):
        hook = await hooked(http, integrator, receiver.url)
        for waiting in (1, 2):
            await hook.until(waiting=waiting)
            await put_off(owner_url, "1 hour")
            assert (await hook.put(purpose="has rested")).status_code == 200
        receiver.answer = taken
        await put_off(owner_url, "0")
        assert (await hook.put(purpose="is well")).status_code == 200
        await hook.until(passed=4, waiting=0)
        assert receiver.seqs[-4:] == [1, 2, 3, 4]


async def put_off(owner_url: str, interval: str) -> None:
    """Have what waits be due after a while."""
    async with await psycopg.AsyncConnection.connect(owner_url, autocommit=True) as owner:
        await owner.execute("SELECT set_config('ledger.organisation', %s, false)", (str(OURS),))
        due = "UPDATE ledger.webhook_delivery SET next_at = now() + %s::interval WHERE state = 'waiting'"
        await owner.execute(due, (interval,))


def at_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """Have chance choose the earliest moment of the first step, which is at once."""

    class Least:
        def random(self) -> float:
            return 0.0

    monkeypatch.setattr(line, "SystemRandom", Least)


async def test_a_receiver_that_was_away_long_is_caught_up_with(
    app_url: str, owner_url: str, administrator: Headers, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What is refused ten times is a dead letter, is listed, and comes when it is replayed, with the same id."""
    at_once(monkeypatch)
    async with sending(app_url) as http, receiving() as receiver:
        await http.post("/v1/events", json=message("site-defined", **SITE), headers=administrator)

        async def away(_: Got) -> bytes:
            return status(500)

        receiver.answer = away
        hook = await hooked(http, administrator, receiver.url)
        for attempts in range(1, 11):
            await receiver.until(attempts)
            if attempts < 10:
                await due_now(owner_url, attempts)
                nudge(hook)
        told = await hook.until(dead=1, waiting=0)
        assert told["progress"]["failing_since"] is not None
        letters = (await hook.told("dead-letters"))["deliveries"]
        assert [(one["seq"], one["attempts"], one["status"], one["error"]) for one in letters] == [
            (1, 10, 500, "failing")
        ]

        receiver.answer = taken
        await due_now(owner_url, 10)
        replayed = await hook.post("dead-letters/1/replay")
        assert (replayed.status_code, replayed.json()["state"], replayed.json()["attempts"]) == (200, "waiting", 0)
        await hook.until(dead=0, waiting=0, failing_since=None)
        assert {got.headers["webhook-id"] for got in receiver.got} == {letters[0]["event"]}
        assert receiver.got[-1].verified(hook.secret)["data"]["seq"] == 1
        assert (await hook.post("dead-letters/1/replay")).status_code == 404


SITE = {
    "site": "harrow-dock",
    "name": "Harrow Dock",
    "profile": "uk",
    "time_zone": "Europe/London",
    "employer": {"name": "Harrow Fabrication", "address": "1 Dock Road"},
    "calendar": {"working_days": ["mon"]},
}


def nudge(hook: Hook) -> None:
    """Have the service look at a webhook at once: nobody tells it of what is changed in the database."""
    transport: Any = hook.http._transport
    transport.app.state.dispatcher.nudge(OURS, UUID(hook.made["webhook"]))


async def due_now(owner_url: str, attempts: int) -> None:
    """Have time pass for a webhook: what waits is due, and its receiver has rested; once so many attempts are known."""
    async with await psycopg.AsyncConnection.connect(owner_url, autocommit=True) as owner:
        await owner.execute("SELECT set_config('ledger.organisation', %s, false)", (str(OURS),))
        known = 0
        while known < attempts:
            row = await (await owner.execute("SELECT max(attempts) FROM ledger.webhook_delivery")).fetchone()
            known = 0 if row is None or row[0] is None else row[0]
        await owner.execute("UPDATE ledger.webhook SET rests_until = NULL, version = version + 1")
        await owner.execute("UPDATE ledger.webhook_delivery SET next_at = now() WHERE state = 'waiting'")


async def test_secrets_are_changed_over(http: httpx.AsyncClient, integrator: Headers) -> None:
    """While they overlap both secrets verify; when a change ends the old one at once only the new one does."""
    async with receiving() as receiver:
        hook = await hooked(http, integrator, receiver.url, after=None)
        rotated = (await hook.post("secret", {"overlap_hours": 1})).json()
        assert datetime.fromisoformat(rotated["old_secret_until"]) > datetime.now(UTC) + timedelta(minutes=59)
        await post(http, integrator, "stock-received")
        (both,) = await receiver.until(1)
        assert both.verified(hook.secret) == both.verified(rotated["secret"])

        last = (await hook.post("secret", {"overlap_hours": 0})).json()
        assert last["old_secret_until"] is None
        await post(http, integrator, "stock-received")
        alone = (await receiver.until(2))[1]
        assert alone.verified(last["secret"])["data"]["seq"] == 6
        assert " " not in alone.headers["webhook-signature"]


async def test_a_secret_signs_as_long_as_was_promised(http: httpx.AsyncClient, integrator: Headers) -> None:
    """Whoever lost the answer to a rotation rotates again: each secret verifies until its end, or all are ended."""
    async with receiving() as receiver, asyncio.timeout(20):
        hook = await hooked(http, integrator, receiver.url, after=None)
        rotated = [(await hook.post("secret", {"overlap_hours": hours})).json() for hours in (24, 1, 2)]
        assert (await hook.read())[0]["old_secret_until"] == rotated[0]["old_secret_until"]
        await post(http, integrator, "stock-received")
        (got,) = await receiver.until(1)
        secrets = (hook.secret, *(one["secret"] for one in rotated))
        assert [got.verified(secret)["data"]["seq"] for secret in secrets] == [5, 5, 5, 5]
        await hook.until(passed=5)
        refused = await hook.post("secret", {"overlap_hours": 1})
        assert (refused.status_code, refused.json()["type"]) == (409, "/problems/too-many-secrets")

        last = (await hook.post("secret", {"overlap_hours": 0})).json()
        await post(http, integrator, "stock-received")
        alone = (await receiver.until(2))[1]
        assert alone.verified(last["secret"])["data"]["seq"] == 6
        assert " " not in alone.headers["webhook-signature"]
        assert (await hook.read())[0]["old_secret_until"] is None


async def test_a_trial_tells_what_comes_of_it(http: httpx.AsyncClient, integrator: Headers) -> None:
    """A test sends an event that is none of the log and tells at once how it went, also of a paused webhook."""
    async with receiving() as receiver:
        hook = await hooked(http, integrator, receiver.url, state="paused")
        told = (await hook.post("test")).json()
        assert (told["delivered"], told["status"], told["error"]) == (True, 204, None)
        (got,) = receiver.got
        assert got.verified(hook.secret)["type"] == "respirator-ledger.test.v1"
        assert got.headers["webhook-id"] == told["event"]
    told = (await hook.post("test")).json()
    assert (told["delivered"], told["status"], told["error"]) == (False, None, "not-connected")
    assert (await hook.told())["deliveries"] == []


async def test_a_slow_receiver_holds_up_nobody_else(http: httpx.AsyncClient, integrator: Headers) -> None:
    """While one receiver keeps its first message waiting, another is sent all of them."""
    let_go = asyncio.Event()

    async def slow(_: Got) -> bytes:
        await let_go.wait()
        return status(200)

    async with receiving(slow) as slowly, receiving() as quickly:
        await hooked(http, integrator, slowly.url)
        await slowly.until(1)
        hook = await hooked(http, integrator, quickly.url)
        await hook.until(passed=4)
        assert (quickly.seqs, slowly.seqs) == ([1, 2, 3, 4], [1])
        let_go.set()
        await slowly.until(4)
        assert slowly.most_at_once == 1


async def test_a_paused_webhook_goes_on_where_it_was(http: httpx.AsyncClient, integrator: Headers) -> None:
    """Nothing is sent while a webhook is paused; what was recorded meanwhile comes once it is active again."""
    async with receiving() as receiver:
        hook = await hooked(http, integrator, receiver.url, state="paused")
        assert (await hook.put(state="active", kinds=["site-defined"])).status_code == 200
        await receiver.until(2)
        await hook.until(passed=4)
        assert (await hook.put(state="paused")).status_code == 200
        await post(http, integrator, "stock-received")
        assert (await hook.put(state="active", kinds=None)).status_code == 200
        await hook.until(passed=5)
        assert receiver.seqs == [1, 2, 5]


async def test_gone_disables_until_somebody_sees_to_it(
    http: httpx.AsyncClient, integrator: Headers, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A receiver that answers 410 is left alone; put active again the webhook goes on, with what was refused, too."""
    at_once(monkeypatch)

    async def gone(_: Got) -> bytes:
        return status(410)

    async with receiving(gone) as receiver:
        hook = await hooked(http, integrator, receiver.url)
        found = await hook.until_state("disabled")
        assert found["reason"] == "gone"
        assert receiver.seqs == [1]
        receiver.answer = taken
        answered = await hook.put(state="active")
        assert (answered.json()["state"], answered.json()["reason"]) == ("active", None)
        await hook.until(passed=4, waiting=0)
        assert receiver.seqs == [1, 1, 2, 3, 4]


async def test_it_ends_with_its_key(http: httpx.AsyncClient, keys: Keys, administrator: Headers) -> None:
    """A webhook whose key was revoked sends nothing more; a key of the same reach has it go on."""
    key = uuid4()
    theirs = await keys.make("integrator", key=key)
    async with receiving() as receiver:
        hook = await hooked(http, theirs, receiver.url)
        await hook.until(passed=4)
        await keys.revoke(key)
        await post(http, administrator, "stock-received")
        office = hook._replace(headers=administrator)
        assert (await office.until_state("disabled"))["reason"] == "key-ended"
        assert receiver.seqs == [1, 2, 3, 4]
        assert (await office.put(state="active")).status_code == 200
        await office.until(passed=5)
        assert receiver.seqs == [1, 2, 3, 4, 5]


async def test_another_key_of_the_operator_signs_nothing(app_url: str, administrator: Headers) -> None:
    """A service with another key than the secret came from stops the webhook, and signs nothing; rotating mends it."""
    async with receiving() as receiver:
        async with sending(app_url) as http:
            hook = await hooked(http, administrator, receiver.url)
        async with sending(app_url, webhook_key="another-key-that-is-long-enough-for-this") as http:
            await http.post("/v1/events", json=message("site-defined", **SITE), headers=administrator)
            hook = hook._replace(http=http)
            assert (await hook.until_state("disabled"))["reason"] == "secret-lost"
            assert receiver.got == []
            secret = (await hook.post("secret", {"overlap_hours": 9})).json()
            assert secret["old_secret_until"] is None
            await hook.put(state="active")
            (got,) = await receiver.until(1)
            assert got.verified(secret["secret"])["data"]["seq"] == 1


async def test_two_services_send_each_message_once(app_url: str, administrator: Headers) -> None:
    """Of two processes on one database one sends for a webhook at a time; when it ends the other goes on."""
    async with receiving() as receiver, sending(app_url) as second:
        async with sending(app_url) as first:
            await first.post("/v1/events", json=message("site-defined", **SITE), headers=administrator)
            hook = await hooked(first, administrator, receiver.url)
            await hook.until(passed=1)
            for _ in range(10):
                await post(second, administrator, "stock-received")
            await hook.until(passed=11)
        await post(second, administrator, "stock-received")
        await hook._replace(http=second).until(passed=12)
        assert receiver.seqs == list(range(1, 13))
        assert receiver.most_at_once == 1


async def test_the_service_stops_with_what_is_on_its_way(app_url: str, administrator: Headers) -> None:
    """A service that stops lets a message on its way come to its end, records it, and begins no other."""
    async with receiving() as receiver:
        async with sending(app_url) as http:
            transport: Any = http._transport
            heads = transport.app.state.ledger.heads

            async def until_it_ends(_: Got) -> bytes:
                while not heads.ended:  # noqa: ASYNC110 - the service tells nobody that it stops
                    await asyncio.sleep(0)
                return status(200)

            receiver.answer = until_it_ends
            await http.post("/v1/events", json=message("site-defined", **SITE), headers=administrator)
            await post(http, administrator, "stock-received")
            hook = await hooked(http, administrator, receiver.url)
            await receiver.until(1)
        receiver.answer = taken
        assert receiver.seqs == [1]
        async with sending(app_url) as http:
            await hook._replace(http=http).until(passed=2)
        assert receiver.seqs == [1, 2]


async def test_what_arrived_long_ago_is_told_no_more(
    http: httpx.AsyncClient, integrator: Headers, owner_url: str
) -> None:
    """Deliveries that went well are told for thirty days; what waits stays, and so does what is dead."""
    refused = iter([422])

    async def answer(_: Got) -> bytes:
        return status(next(refused, 200))

    async with receiving(answer) as receiver:
        hook = await hooked(http, integrator, receiver.url)
        await hook.until(passed=4)
        await hook.put(state="paused")
    settings, now = Settings(migration_database_url=owner_url), datetime.now(UTC)
    before = (await hook.told())["deliveries"]
    await pruned(settings, None, now + timedelta(days=29))
    assert (await hook.told())["deliveries"] == before
    await pruned(settings, None, now + timedelta(days=31))
    left = (await hook.told())["deliveries"]
    assert left == [one for one in before if one["state"] == "waiting"]
    assert len(before) == 4


async def test_what_is_made_again_begins_anew(http: httpx.AsyncClient, integrator: Headers) -> None:
    """A webhook that takes the id of one just taken away is another: it begins where it says, with other tags."""
    transport: Any = http._transport
    desks = transport.app.state.dispatcher._desks
    async with receiving() as receiver, asyncio.timeout(20):
        name = str(uuid4())
        first = await hooked(http, integrator, receiver.url, id=name, kinds=["site-defined"])
        await first.until(passed=4)
        _, tag = await first.read()
        async with desks, desks:  # its line sees nothing of what happens meanwhile
            assert (await http.delete(first.path, headers=integrator)).status_code == 204
            again = await hooked(http, integrator, receiver.url, id=name)
        await again.until(passed=4)
        assert receiver.seqs == [1, 2, 1, 2, 3, 4]
        assert [got.verified(again.secret)["data"]["seq"] for got in receiver.got[2:]] == [1, 2, 3, 4]
        late = await http.put(again.path, json={"url": receiver.url}, headers=integrator | {"if-match": tag})
        assert late.status_code == 412


@pytest.mark.parametrize("number", [410, 500])
async def test_an_old_address_says_nothing_of_the_new(
    http: httpx.AsyncClient, integrator: Headers, number: int
) -> None:
    """What is answered at an address after the webhook has another one is told of its message, and stops nothing."""
    answers = asyncio.Event()

    async def late(_: Got) -> bytes:
        await answers.wait()
        return status(number)

    async with receiving(late) as old, receiving() as new, asyncio.timeout(20):
        hook = await hooked(http, integrator, old.url)
        await old.until(1)
        assert (await hook.put(url=new.url, state="paused")).status_code == 200
        answers.set()
        told = await hook.until(waiting=1)
        (one,) = told["deliveries"]
        assert (one["seq"], one["state"], one["status"]) == (1, "waiting", number)
        progress = told["progress"]
        assert (progress["passed"], progress["failing_since"], progress["rests_until"]) == (0, None, None)
        found, _ = await hook.read()
        assert (found["state"], found["reason"]) == ("paused", None)
        assert (await hook.put(state="active")).status_code == 200
        await hook.until(passed=4, waiting=0)
        assert sorted(set(new.seqs)) == [1, 2, 3, 4]


async def test_a_site_that_it_may_not_see_stops_it(
    http: httpx.AsyncClient, keys: Keys, administrator: Headers, owner_url: str
) -> None:
    """A webhook that asks for a site beyond its own, however it came to, is stopped for that; another site mends it."""
    bound = await keys.make("integrator", ["east-yard"])
    async with receiving() as receiver, asyncio.timeout(20):
        hook = await hooked(http, bound, receiver.url, state="paused")
        async with await psycopg.AsyncConnection.connect(owner_url, autocommit=True) as owner:
            await owner.execute("SELECT set_config('ledger.organisation', %s, false)", (str(OURS),))
            await owner.execute("UPDATE ledger.webhook SET site = 'harrow-dock', state = 'active'")
        assert (await hook.until_state("disabled"))["reason"] == "site-unseen"
        office = hook._replace(headers=administrator)
        assert (await office.put(site="east-yard", state="active")).status_code == 200
        await hook.until(passed=4)
        assert receiver.seqs == [2]
