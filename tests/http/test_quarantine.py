"""Units that a recall bears on are ordered out of use: once each, whoever asks and however often."""

import asyncio
from typing import Any
from uuid import UUID

import httpx
import pytest

from service import campaign
from service.domain.recall.stopping import order_id
from service.ledger import Ledger
from service.recording.in_turn import record_all
from service.recording.incoming import Read, Receipt
from tests.http.doors import FOREIGN, OURS
from tests.http.firm import Headers, Message, ago, message, model, post, site
from tests.http.keys import Keys
from tests.http.recall_firm import BAD, fitted, hood
from tests.http.recall_fleet import GOOD, ORDER, RECALL, actioned, fleet, opened, orders, stop, unit

__all__ = ["fleet"]

WHERE = f"/v1/recalls/{RECALL}/quarantine"
ALL = ["FX-1", "FX-2", "FX-3", "FX-5"]


async def test_each_unit_is_stopped_where_it_is(fleet: httpx.AsyncClient, administrator: Headers) -> None:
    """Units of the lot and of an unknown one get an event of their own site without a place: ordered, not put away."""
    answered = await fleet.post(WHERE, json=ORDER | {"remark": "cracked at the rim"}, headers=administrator)
    told = answered.json()
    assert (answered.status_code, told.pop("positions")) == (200, {"first": 10, "last": 13})
    assert told == {
        "recall": RECALL,
        "quarantined": 4,
        "already": 0,
        "skipped": [],
        "left": 0,
        "asked_less": 0,
        "done": True,
    }
    assert answered.headers["ledger-position"] == "13"
    said = await orders(fleet, administrator)
    assert [one["asset"] for one in said] == ALL
    assert [one["site"] for one in said] == ["harrow-dock"] * 3 + ["east-yard"]
    assert {(one["reason"], one["recall"], one["by"], one["remark"]) for one in said} == {
        ("recall", RECALL, "p-1001", "cracked at the rim")
    }
    assert all("place" not in one for one in said)
    held, free = [await unit(fleet, administrator, tag) for tag in ("FX-1", "FX-4")]
    assert (held["phase"], held["do_not_use"], free["phase"]) == ("quarantined", True, "in-store")
    assert {"recall", "withdrawal"} <= set(held["reasons"])


async def test_asking_again_stops_nobody_twice(fleet: httpx.AsyncClient, administrator: Headers) -> None:
    """All are held already, and the log stays as it is."""
    await stop(fleet, administrator)
    again = await stop(fleet, administrator, by="p-1002")
    assert (again["quarantined"], again["already"], again["done"], again["positions"]) == (0, 4, True, None)
    assert len(await orders(fleet, administrator)) == 4


async def test_it_goes_on_where_it_was_left(fleet: httpx.AsyncClient, administrator: Headers) -> None:
    """Three at a time: the second request takes the rest."""
    first = await stop(fleet, administrator, limit=3)
    second = await stop(fleet, administrator, limit=3)
    told = ("quarantined", "already", "left", "done")
    assert [first[name] for name in told] == [3, 0, 1, False]
    assert [second[name] for name in told] == [1, 3, 0, True]
    assert [one["asset"] for one in await orders(fleet, administrator)] == ALL


async def test_two_at_once_give_each_unit_one_event(fleet: httpx.AsyncClient, administrator: Headers) -> None:
    """Whoever comes second finds them held: together they stopped each once, and nothing was refused."""
    asked = (stop(fleet, administrator, by=f"p-{1000 + nth}", remark=f"order {nth}") for nth in range(6))
    told = await asyncio.gather(*asked)
    assert sum(one["quarantined"] for one in told) == 4
    assert {one["quarantined"] + one["already"] for one in told} == {4}
    assert [one["asset"] for one in await orders(fleet, administrator)] == ALL
    assert (await fleet.get("/v1/rejected", headers=administrator)).json()["rejected"] == []


async def test_another_order_meanwhile_is_found_in_the_log(
    fleet: httpx.AsyncClient, administrator: Headers, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Between the look and the append another manager's order is recorded: the first one's is its repeat."""
    others: list[Any] = []

    async def overtaken(ledger: Ledger, organisation: Any, reads: list[Read]) -> list[Receipt]:
        monkeypatch.setattr(campaign, "record_all", record_all)
        others.append(await stop(fleet, administrator, by="p-1002"))
        return await record_all(ledger, organisation, reads)

    monkeypatch.setattr(campaign, "record_all", overtaken)
    told = await stop(fleet, administrator, remark="the second to arrive")
    assert [one["quarantined"] for one in (*others, told)] == [4, 0]
    assert (told["already"], told["skipped"], told["done"]) == (4, [], True)
    assert {one["by"] for one in await orders(fleet, administrator)} == {"p-1002"}


async def test_what_was_recorded_before_a_failure_is_passed_over(
    fleet: httpx.AsyncClient, administrator: Headers, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Cut off after the first batch, it is asked for again and stops the rest."""
    done: list[list[Receipt]] = []

    async def cut(ledger: Ledger, organisation: Any, reads: list[Read]) -> list[Receipt]:
        if done:
            raise ConnectionError
        done.append(await record_all(ledger, organisation, reads))
        return done[0]

    monkeypatch.setattr(campaign, "MOST_TOGETHER", 3)
    monkeypatch.setattr(campaign, "record_all", cut)
    broken = await fleet.post(WHERE, json=ORDER, headers=administrator)
    monkeypatch.setattr(campaign, "record_all", record_all)
    again = await stop(fleet, administrator)
    assert (broken.status_code, len(done[0])) == (500, 3)
    assert (again["quarantined"], again["already"]) == (1, 3)
    assert [one["asset"] for one in await orders(fleet, administrator)] == ALL


async def test_a_named_request_is_answered_once(fleet: httpx.AsyncClient, administrator: Headers) -> None:
    """With an Idempotency-Key the same bytes come again; another recall or body under it is another request."""
    headers = administrator | {"idempotency-key": '"first order"'}
    first, again = [await fleet.post(WHERE, json=ORDER, headers=headers) for _ in range(2)]
    assert (first.content, first.status_code) == (again.content, 200)
    assert first.headers["ledger-position"] == again.headers["ledger-position"]
    other = await fleet.post(WHERE, json=ORDER | {"limit": 5}, headers=headers)
    elsewhere = await fleet.post("/v1/recalls/rc-2/quarantine", json=ORDER, headers=headers)
    assert [one.json()["type"] for one in (other, elsewhere)] == ["/problems/another-request"] * 2


async def test_missing_and_retired_units_are_named(fleet: httpx.AsyncClient, administrator: Headers) -> None:
    """They are passed over, each with its reason (R34)."""
    lost, gone = message("missing", asset="FX-1"), message("retired", asset="FX-2", reason="worn-out")
    await post(fleet, administrator, lost, gone)
    told = await stop(fleet, administrator)
    assert told["quarantined"] == 2
    assert told["skipped"] == [
        {"asset": "FX-1", "reason": "missing"},
        {"asset": "FX-2", "reason": "retired"},
    ]
    assert told["done"]


async def test_a_key_stops_units_of_its_sites_alone(
    fleet: httpx.AsyncClient, administrator: Headers, keys: Keys
) -> None:
    """A lead of the yard stops the yard's unit and is told of no other; a manager of the dock stops the dock's."""
    lead, manager = await keys.make("site-lead", ["east-yard"]), await keys.make("manager", ["harrow-dock"])
    told = await stop(fleet, lead)
    assert (told["quarantined"], told["already"], told["left"], told["done"]) == (1, 0, 0, True)
    assert [one["asset"] for one in await orders(fleet, administrator)] == ["FX-5"]
    told = await stop(fleet, manager)
    assert (told["quarantined"], told["already"]) == (3, 0)


@pytest.mark.parametrize("role", ["site-app", "integrator", "auditor", "worker-representative"])
async def test_other_roles_order_nothing(fleet: httpx.AsyncClient, keys: Keys, role: Any) -> None:
    """Who leads no site gets no answer."""
    refused = await fleet.post(WHERE, json=ORDER, headers=await keys.make(role))
    assert (refused.status_code, refused.json()["type"]) == (403, "/problems/forbidden")


async def test_a_recall_that_is_not_there_is_not_found(
    fleet: httpx.AsyncClient, administrator: Headers, keys: Keys
) -> None:
    """Neither one that nobody opened, nor another firm's."""
    foreign = await keys.make("administrator", organisation=FOREIGN)
    never = await fleet.post("/v1/recalls/rc-9/quarantine", json=ORDER, headers=administrator)
    theirs = await fleet.post(WHERE, json=ORDER, headers=foreign)
    assert [one.status_code for one in (never, theirs)] == [404, 404]
    assert never.json() == theirs.json()
    assert await orders(fleet, administrator) == []


async def refused(http: httpx.AsyncClient, headers: Headers) -> tuple[int, str, str]:
    """Order what is refused, and give the status, the problem and its state."""
    answered = await http.post(WHERE, json=ORDER, headers=headers)
    said = answered.json()
    return answered.status_code, said["type"], said["state"]


async def test_a_closed_recall_stops_nobody_until_it_is_open_again(
    fleet: httpx.AsyncClient, administrator: Headers
) -> None:
    """Opened again by the same name it goes on."""
    outstanding = [{"asset": tag, "reason": "in a container at sea"} for tag in ALL]
    await post(fleet, administrator, message("recall-closed", recall=RECALL, outstanding=outstanding))
    assert await refused(fleet, administrator) == (409, "/problems/recall-not-open", "closed")
    await post(fleet, administrator, opened(occurred_at=ago(minutes=5)))
    assert (await stop(fleet, administrator))["quarantined"] == 4


async def test_a_recall_that_was_taken_back_stops_nobody(
    fleet: httpx.AsyncClient, administrator: Headers, keys: Keys
) -> None:
    """Neither what it had reached nor anything else; of two openings the one that stands counts alone."""
    other, manager = opened(occurred_at=ago(hours=9)), await keys.make("manager")
    await post(fleet, administrator, other, opened(criteria=[{"item": "pf-170", "lot": GOOD}], recall=RECALL))
    first = (await fleet.get("/v1/events", params={"kind": "recall-opened"}, headers=administrator)).json()["events"]
    voids = [message("voided", event=one["id"], reason="another maker", by="p-8") for one in first]
    await post(fleet, manager, *voids[:2])
    told = await stop(fleet, administrator)
    assert (told["quarantined"], told["already"]) == (2, 0)
    assert [one["asset"] for one in await orders(fleet, administrator)] == ["FX-3", "FX-4"]
    await post(fleet, manager, voids[2])
    assert await refused(fleet, administrator) == (409, "/problems/recall-not-open", "voided")


async def test_a_rehearsal_changes_no_unit(http: httpx.AsyncClient, administrator: Headers) -> None:
    """It stops nobody."""
    await post(http, administrator, opened(rehearsal=True))
    assert await refused(http, administrator) == (409, "/problems/recall-not-open", "rehearsal")


async def test_more_than_is_asked_needs_a_reason(fleet: httpx.AsyncClient, administrator: Headers, keys: Keys) -> None:
    """Where only to inspect is left of it, its units may be stopped all the same, if somebody says why."""
    await post(fleet, administrator, opened(action="inspect", occurred_at=ago(hours=1)))
    first, _ = (await fleet.get("/v1/events", params={"kind": "recall-opened"}, headers=administrator)).json()["events"]
    void = message("voided", event=first["id"], reason="not that bad", by="p-8", occurred_at=ago(minutes=1))
    await post(fleet, await keys.make("manager"), void)
    for said in (ORDER, ORDER | {"remark": " "}):
        answered = await fleet.post(WHERE, json=said, headers=administrator)
        assert (answered.status_code, answered.json()["errors"][0]["pointer"]) == (422, "#/remark")
    assert (await stop(fleet, administrator, remark="two of them leaked"))["quarantined"] == 4


async def test_to_open_it_again_takes_no_stop_back(fleet: httpx.AsyncClient, administrator: Headers) -> None:
    """Opened again to inspect another lot, it stops what it asked to stop before and no more."""
    again = {"criteria": [{"item": "pf-170", "lot": GOOD}], "action": "inspect", "due_on": "2199-12-24"}
    await post(fleet, administrator, opened(occurred_at=ago(hours=1), **again))
    assert (await stop(fleet, administrator))["quarantined"] == 4
    assert [one["asset"] for one in await orders(fleet, administrator)] == ALL


@pytest.mark.parametrize(
    ("body", "pointer"),
    [({}, "#"), ({"by": "p 1"}, "#/by"), (ORDER | {"limit": 0}, "#/limit"), (ORDER | {"place": "cage"}, "#/place")],
)
async def test_an_order_says_what_it_may(
    fleet: httpx.AsyncClient, administrator: Headers, body: Any, pointer: str
) -> None:
    """What is missing, wrong or unknown is named."""
    answered = await fleet.post(WHERE, json=body, headers=administrator)
    assert answered.status_code == 422
    assert answered.json()["errors"][0]["pointer"].startswith(pointer)


async def test_what_comes_under_it_later_is_caught_by_itself(fleet: httpx.AsyncClient, administrator: Headers) -> None:
    """Registered, found or refitted later, or by a swap that is told late: not to be used, and then stopped by asking.

    Nobody has to act for the first, and asking again stops exactly those.
    """
    lost = message("missing", asset="FX-1", occurred_at=ago(hours=11), sent_at=ago(seconds=0))
    await post(fleet, administrator, lost, hood("FX-7", GOOD))
    assert [one["asset"] for one in (await stop(fleet, administrator))["skipped"]] == ["FX-1"]
    for tag in ("FX-4", "FX-7"):
        assert not (await unit(fleet, administrator, tag))["do_not_use"]
    await post(
        fleet,
        administrator,
        hood("FX-6", BAD, occurred_at=ago(hours=1)),
        message("found", asset="FX-1", occurred_at=ago(minutes=30)),
        fitted("FX-4", BAD, occurred_at=ago(minutes=20), reason="loading"),
        fitted("FX-7", BAD, occurred_at=ago(hours=20), reason="loading"),
    )
    for tag in ("FX-1", "FX-4", "FX-6", "FX-7"):
        told = await unit(fleet, administrator, tag)
        assert told["do_not_use"], tag
        assert "recall" in told["reasons"], tag
    before = len(await orders(fleet, administrator))
    told = await stop(fleet, administrator)
    assert (told["quarantined"], told["already"], told["skipped"]) == (4, 3, [])
    assert [one["asset"] for one in (await orders(fleet, administrator))[before:]] == ["FX-1", "FX-4", "FX-6", "FX-7"]


async def test_a_unit_that_is_affected_again_is_stopped_again(fleet: httpx.AsyncClient, administrator: Headers) -> None:
    """Put right and released it comes under the recall no more; with another piece of the lot it does, and so held."""
    skilled = message("trained", person="p-9", competences=["release"], occurred_at=ago(hours=9))
    await post(fleet, administrator, skilled)
    await stop(fleet, administrator)
    now = ago(seconds=0)
    await post(fleet, administrator, fitted("FX-1", GOOD, occurred_at=now), actioned("FX-1", occurred_at=now))
    await post(fleet, administrator, message("released", asset="FX-1", by="p-9", occurred_at=ago(seconds=0)))
    free = await unit(fleet, administrator, "FX-1")
    assert (free["phase"], free["do_not_use"], free["reasons"]) == ("in-store", False, [])
    assert (await stop(fleet, administrator))["quarantined"] == 0
    await post(fleet, administrator, fitted("FX-1", BAD, occurred_at=ago(seconds=0)))
    assert (await stop(fleet, administrator))["quarantined"] == 1
    assert (await stop(fleet, administrator))["quarantined"] == 0
    said = [one["id"] for one in await orders(fleet, administrator) if one["asset"] == "FX-1"]
    assert len(set(said)) == 2


async def test_a_remedy_before_a_release_asks_for_no_second_order_but_a_new_piece_does(
    fleet: httpx.AsyncClient, administrator: Headers
) -> None:
    """Still held, but for what was put right: the new piece dates the reason anew (R43)."""
    await stop(fleet, administrator)
    now = ago(seconds=0)
    await post(fleet, administrator, fitted("FX-2", GOOD, occurred_at=now), actioned("FX-2", occurred_at=now))
    assert (await stop(fleet, administrator))["quarantined"] == 0
    await post(fleet, administrator, fitted("FX-2", BAD, occurred_at=ago(seconds=0)))
    assert (await stop(fleet, administrator))["quarantined"] == 1


def guessed(first: Message) -> Message:
    """Post something else about a unit by the name that its order will have."""
    name = order_id(OURS, RECALL, UUID(first["id"]), 0)
    return message("cleaned", id=str(name), asset=first["asset"], scope="unit", method="wiped")


async def test_a_name_that_is_taken_keeps_no_unit_from_being_stopped(
    fleet: httpx.AsyncClient, administrator: Headers
) -> None:
    """Who guesses the name of an order and posts something else by it achieves nothing: the order takes the next."""
    await post(fleet, administrator, first := hood("FX-0", BAD), guessed(first))
    assert (await stop(fleet, administrator))["quarantined"] == 5
    assert [one["asset"] for one in await orders(fleet, administrator)] == ["FX-0", *ALL]


async def test_a_name_that_is_taken_meanwhile_is_told(
    fleet: httpx.AsyncClient, administrator: Headers, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Taken between the look and the append the order is refused and kept, and the unit named; asked again it works."""
    await post(fleet, administrator, first := hood("FX-0", BAD))

    async def overtaken(ledger: Ledger, organisation: Any, reads: list[Read]) -> list[Receipt]:
        await post(fleet, administrator, guessed(first))
        return await record_all(ledger, organisation, reads)

    monkeypatch.setattr(campaign, "record_all", overtaken)
    told = await stop(fleet, administrator)
    monkeypatch.setattr(campaign, "record_all", record_all)
    assert (told["quarantined"], told["skipped"]) == (4, [{"asset": "FX-0", "reason": "not-accepted"}])
    told = await stop(fleet, administrator)
    assert (told["quarantined"], told["already"], told["skipped"]) == (1, 4, [])


async def test_a_unit_whose_tag_is_anothers_stops_nobody(http: httpx.AsyncClient, administrator: Headers) -> None:
    """An order goes by the tag: it would stop the other unit, whenever it is asked for. The row says which is meant."""
    gone = message("retired", asset="FX-1", reason="other", occurred_at=ago(hours=20))
    again = hood("FX-1", GOOD, serial="second", occurred_at=ago(hours=15))
    first = hood("FX-1", BAD)
    await post(http, administrator, site("harrow-dock"), model(), first, gone, again, opened())
    await post(http, administrator, message("voided", event=gone["id"], reason="another one", by="p-2"))
    told = await stop(http, administrator)

    assert (told["quarantined"], told["skipped"]) == (0, [{"asset": "FX-1", "reason": "tag-of-another"}])
    assert await orders(http, administrator) == []
    rows = (await http.get(f"/v1/recalls/{RECALL}/impact", headers=administrator)).json()["units"]
    assert [(one["asset"], one["serial"], one["unit"], one["affected"]) for one in rows] == [
        ("FX-1", "NW-FX-1", first["id"], True)
    ]


async def test_a_refused_order_keeps_no_other_waiting(
    http: httpx.AsyncClient, administrator: Headers, keys: Keys
) -> None:
    """One at a time: the first is at a site that was taken back, so the next is stopped, and then none is left."""
    yard = site("far-yard")
    mine = [hood("AA-1", BAD, site="far-yard"), hood("FX-1", BAD), hood("FX-2", BAD)]
    await post(http, administrator, site("harrow-dock"), yard, model(), *mine, opened())
    other = await keys.make("administrator")
    await post(http, other, message("voided", event=yard["id"], reason="closed long ago", by="p-9"))
    first, second = await stop(http, administrator, limit=1), await stop(http, administrator, limit=1)

    assert [(one["quarantined"], one["left"]) for one in (first, second)] == [(1, 1), (1, 0)]
    assert first["skipped"] == [{"asset": "AA-1", "reason": "not-accepted"}]
    assert [one["asset"] for one in await orders(http, administrator)] == ["FX-1", "FX-2"]
