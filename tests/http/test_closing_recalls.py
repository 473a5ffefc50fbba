"""A closing needs a reason for each unit that the recall still bears on, and clears none of them."""

from typing import Any

import httpx
import pytest

from tests.http.firm import Headers, Message, ago, message, post
from tests.http.keys import Keys
from tests.http.recall_firm import BAD, fitted, hood
from tests.http.recall_fleet import GOOD, RECALL, actioned, fleet, opened, stop, unit

__all__ = ["fleet"]

STRICT = {"prefer": "handling=strict"}
ALL = ["FX-1", "FX-2", "FX-3", "FX-5"]
CODE = "units-outstanding"


def closed(*tags: str, **fields: Any) -> Message:
    """Close the recall now, with a reason for units."""
    outstanding = [{"asset": tag, "reason": "in a container at sea"} for tag in tags]
    said = {"recall": RECALL, "occurred_at": ago(seconds=0), "outstanding": outstanding}
    return message("recall-closed", **(said | fields))


def left(*tags: str) -> list[Any]:
    """Give the conflict that names these units."""
    return [{"code": CODE, "count": len(tags), "assets": list(tags)}]


async def told(http: httpx.AsyncClient, headers: Headers, said: Message) -> list[Any]:
    """Post what is recorded, and give its conflicts."""
    [result] = await post(http, headers, said)
    return list(result["conflicts"])


async def test_units_without_a_reason_are_told(fleet: httpx.AsyncClient, administrator: Headers) -> None:
    """It is recorded, and says how many units it leaves out and which; the log keeps that, and so does a repeat."""
    said = closed("FX-2")
    assert await told(fleet, administrator, said) == left("FX-1", "FX-3", "FX-5")
    again = await fleet.post("/v1/events", json=said, headers=administrator)
    read = await fleet.get(f"/v1/events/{said['id']}", headers=administrator)
    assert (again.status_code, again.json()["outcome"]) == (200, "repeated")
    assert again.json()["conflicts"] == read.json()["conflicts"] == left("FX-1", "FX-3", "FX-5")


async def test_with_a_reason_for_each_it_contradicts_nothing(fleet: httpx.AsyncClient, administrator: Headers) -> None:
    """What is retired, put right or of another lot after all needs none; what is stopped and missing does."""
    await stop(fleet, administrator)
    now = {"occurred_at": ago(minutes=5)}
    named = message("part-identified", asset="FX-3", position="particle-filter",
                    part={"item": "pf-170", "lot": GOOD, "condition": "new"}, **now)  # fmt: skip
    done = [actioned("FX-1", **now), named, message("retired", asset="FX-2", reason="damaged", **now)]
    await post(fleet, administrator, *done, message("missing", asset="FX-5", **now))
    assert await told(fleet, administrator, closed()) == left("FX-5")
    assert await told(fleet, administrator, closed("FX-5")) == []


async def test_strictly_it_is_turned_away(fleet: httpx.AsyncClient, administrator: Headers) -> None:
    """Nothing is recorded or kept; the problem names the units, and with reasons for them it is taken."""
    refused = await fleet.post("/v1/events", json=closed("FX-2"), headers=administrator | STRICT)
    problem = refused.json()
    assert (refused.status_code, problem["type"]) == (409, "/problems/contradicts-history")
    assert (problem["conflicts"], problem["reasons"]) == ([CODE], [])
    assert problem["assets"] == ["FX-1", "FX-3", "FX-5"]
    assert "(3 of them)" in problem["detail"]
    assert (await fleet.get("/v1/rejected", headers=administrator)).json()["rejected"] == []
    assert (await stop(fleet, administrator))["quarantined"] == 4
    taken = await fleet.post("/v1/events", json=closed(*ALL), headers=administrator | STRICT)
    assert (taken.status_code, taken.json()["conflicts"]) == (201, [])


async def test_closing_changes_no_units_standing(fleet: httpx.AsyncClient, administrator: Headers) -> None:
    """Stopped or not, named or not: each is as it was (R34)."""
    await stop(fleet, administrator, limit=2)
    moments = ("as_at", "known_at", "judged_to", "rules_to")
    before, after = [
        [
            {name: value for name, value in (await unit(fleet, administrator, tag)).items() if name not in moments}
            for tag in (*ALL, "FX-4")
        ]
        for said in ([], [closed("FX-1", "FX-3")])
        if not said or await post(fleet, administrator, *said)
    ]
    assert before == after
    assert [one["do_not_use"] for one in after] == [True, True, True, True, False]
    later = hood("FX-6", BAD, occurred_at=ago(seconds=0))
    await post(fleet, administrator, later)
    assert (await unit(fleet, administrator, "FX-6"))["reasons"] == ["recall"]


async def test_several_closings_give_reasons_together(fleet: httpx.AsyncClient, administrator: Headers) -> None:
    """A list ends at a hundred: what an earlier one names counts, in one batch too; once opened again, no more."""
    first, second = await post(fleet, administrator, closed("FX-1", "FX-2"), closed("FX-3", "FX-5"))
    assert [first["conflicts"], second["conflicts"]] == [left("FX-3", "FX-5"), []]
    await post(fleet, administrator, opened(occurred_at=ago(seconds=0)))
    assert await told(fleet, administrator, closed("FX-1")) == left("FX-2", "FX-3", "FX-5")


async def test_more_than_a_list_holds(fleet: httpx.AsyncClient, administrator: Headers) -> None:
    """Of many units all are counted and the first hundred named, as many as one closing can give reasons for."""
    await post(fleet, administrator, *(hood(f"GX-{nth:03}", BAD) for nth in range(120)))
    [found] = await told(fleet, administrator, closed())
    assert (found["count"], len(found["assets"])) == (124, 100)
    [rest] = await told(fleet, administrator, closed(*found["assets"]))
    assert (rest["count"], rest["assets"][0]) == (24, "GX-096")
    assert await told(fleet, administrator, closed(*rest["assets"])) == []


async def test_it_is_judged_at_its_own_time(fleet: httpx.AsyncClient, administrator: Headers) -> None:
    """What was put right or came in after it is another matter (decision 18); before the opening there is nothing."""
    await post(
        fleet, administrator, actioned("FX-1", occurred_at=ago(hours=1)), hood("FX-6", BAD, occurred_at=ago(hours=1))
    )
    assert await told(fleet, administrator, closed(occurred_at=ago(hours=2))) == left(*ALL)
    assert await told(fleet, administrator, closed(occurred_at=ago(minutes=5))) == left("FX-2", "FX-3", "FX-5", "FX-6")
    assert await told(fleet, administrator, closed(occurred_at=ago(hours=12))) == []


async def test_a_recall_that_nobody_opened_is_told(fleet: httpx.AsyncClient, administrator: Headers) -> None:
    """A reference mistyped is recorded, and its sender told; opened in the same batch it is known."""
    assert await told(fleet, administrator, closed(recall="rc-9")) == [{"code": "unknown-recall"}]
    other = {"recall": "rc-8", "action": "information"}
    _, second = await post(fleet, administrator, opened(**other), closed(recall="rc-8"))
    assert second["conflicts"] == []


@pytest.mark.parametrize("fields", [{"rehearsal": True}, {"action": "information"}])
async def test_what_asks_nothing_is_closed_without_reasons(
    http: httpx.AsyncClient, administrator: Headers, fleet: httpx.AsyncClient, fields: Any
) -> None:
    """A rehearsal and a mere information ask nothing of units."""
    await post(fleet, administrator, opened(recall="rc-2", **fields))
    assert await told(http, administrator, closed(recall="rc-2")) == []


async def test_what_comes_before_it_in_a_batch_counts(fleet: httpx.AsyncClient, administrator: Headers) -> None:
    """Put right in the same batch a unit needs no reason; what stands after the closing does not help it."""
    now = {"occurred_at": ago(minutes=5)}
    said = [actioned("FX-1", **now), closed("FX-3", "FX-5"), actioned("FX-2", **now), closed("FX-3", "FX-5")]
    results = await post(fleet, administrator, *said)
    assert [one["conflicts"] for one in results if one["asset"] is None] == [left("FX-2"), []]


async def test_a_key_of_a_site_is_told_its_units(fleet: httpx.AsyncClient, administrator: Headers, keys: Keys) -> None:
    """Of units elsewhere it hears that there are some; who reads the event at that site reads no more."""
    manager = await keys.make("manager", ["east-yard"])
    assert await told(fleet, manager, closed()) == left("FX-5")
    assert await told(fleet, manager, closed("FX-5")) == [{"code": CODE}]
    of_yard = closed(site="east-yard")
    assert await told(fleet, administrator, of_yard) == [{"code": CODE}]
    read = await fleet.get(f"/v1/events/{of_yard['id']}", headers=await keys.make("auditor", ["east-yard"]))
    assert "FX-1" not in read.text


async def closed_at(http: httpx.AsyncClient, headers: Headers) -> str | None:
    """Read when the campaign was closed."""
    [one] = (await http.get("/v1/recalls", headers=headers)).json()["recalls"]
    closing: str | None = one["closed_at"]
    return closing


async def reasons(http: httpx.AsyncClient, headers: Headers) -> dict[str, str | None]:
    """Read why units were not dealt with."""
    told = (await http.get(f"/v1/recalls/{RECALL}/impact", headers=headers)).json()["units"]
    return {one["asset"]: one["reason"] for one in told}


async def test_a_closing_that_leaves_units_out_ends_nothing(
    fleet: httpx.AsyncClient, administrator: Headers, keys: Keys
) -> None:
    """The campaign goes on, and its orders with it, until each unit has a reason; the reasons are told by unit."""
    await post(fleet, administrator, closed("FX-2"))
    assert await closed_at(fleet, administrator) is None
    assert (await stop(fleet, administrator))["quarantined"] == 4
    await post(fleet, administrator, closed("FX-1", "FX-3", "FX-5"))
    assert await closed_at(fleet, administrator) is not None
    assert await reasons(fleet, administrator) == dict.fromkeys(ALL, "in a container at sea")
    assert await reasons(fleet, await keys.make("worker-representative")) == dict.fromkeys(ALL)


async def test_a_key_of_a_site_gives_reasons_for_its_own_units(
    fleet: httpx.AsyncClient, administrator: Headers, keys: Keys
) -> None:
    """Of units elsewhere, guessed or not, its reasons count for nothing, also for whoever closes the recall later."""
    yard = await keys.make("manager", ["east-yard"])
    guess = {"code": "reason-without-unit", "count": 4, "assets": ["FX-1", "FX-2", "FX-3", "FX-99"]}
    assert await told(fleet, yard, closed("FX-1", "FX-2", "FX-3", "FX-5", "FX-99")) == [{"code": CODE}, guess]
    assert await closed_at(fleet, administrator) is None
    assert await told(fleet, administrator, closed()) == left("FX-1", "FX-2", "FX-3")
    assert await closed_at(fleet, administrator) is None
    assert await told(fleet, administrator, closed("FX-1", "FX-2", "FX-3")) == []
    assert await closed_at(fleet, administrator) is not None


async def test_a_unit_named_twice_is_told(fleet: httpx.AsyncClient, administrator: Headers) -> None:
    """The last reason counts; the recall is closed."""
    said = closed(*ALL)
    said["outstanding"].append({"asset": "FX-2", "reason": "lost"})
    assert await told(fleet, administrator, said) == [{"code": "reason-given-twice", "count": 1, "assets": ["FX-2"]}]
    assert await closed_at(fleet, administrator) is not None
    assert (await reasons(fleet, administrator))["FX-2"] == "lost"


async def test_tried_again_it_is_compared_again(fleet: httpx.AsyncClient, administrator: Headers, keys: Keys) -> None:
    """Refused to a role that closes no recall, it is held against the units as they are when it is tried again."""
    refused = await fleet.post("/v1/events", json=closed("FX-2"), headers=await keys.make("site-lead"))
    await post(fleet, administrator, fitted("FX-1", BAD, occurred_at=ago(minutes=1)))
    path = f"/v1/rejected/{refused.json()['rejected']}/retry"
    again = await fleet.post(path, headers=administrator)
    assert (refused.status_code, again.status_code) == (403, 201)
    assert again.json()["conflicts"] == left("FX-1", "FX-3", "FX-5")


async def test_a_reason_is_of_the_unit_that_had_the_tag_then(fleet: httpx.AsyncClient, administrator: Headers) -> None:
    """Another unit under the same tag needs one of its own; the first keeps its reason under its new tag."""
    await told(fleet, administrator, closed("FX-1", occurred_at=ago(minutes=60)))
    moved = message("retagged", asset="FX-1", new_tag="FX-9", occurred_at=ago(minutes=50))
    await post(fleet, administrator, moved, hood("FX-1", BAD, serial="other", occurred_at=ago(minutes=40)))

    assert await told(fleet, administrator, closed("FX-2", "FX-3", "FX-5")) == left("FX-1")
    assert await reasons(fleet, administrator) == {
        "FX-1": None,
        **dict.fromkeys(["FX-2", "FX-3", "FX-5", "FX-9"], "in a container at sea"),
    }


async def test_a_reason_is_of_what_came_under_it_then(fleet: httpx.AsyncClient, administrator: Headers) -> None:
    """Put right, and given another filter of the lot since, a unit needs a new one."""
    await told(fleet, administrator, closed("FX-1", occurred_at=ago(minutes=60)))
    again = fitted("FX-1", BAD, occurred_at=ago(minutes=40))
    await post(fleet, administrator, actioned("FX-1", occurred_at=ago(minutes=50)), again)

    assert await told(fleet, administrator, closed("FX-2", "FX-3", "FX-5")) == left("FX-1")
    assert (await reasons(fleet, administrator))["FX-1"] is None


@pytest.mark.parametrize("reason", ["", "  ", "\u200b", "\u2060 \ufeff\u00ad"])
async def test_a_reason_must_say_something_that_is_seen(
    fleet: httpx.AsyncClient, administrator: Headers, reason: str
) -> None:
    """Nothing, blanks and what no page shows are no reason; a word among them is one."""
    said = closed(outstanding=[{"asset": tag, "reason": reason} for tag in ALL])
    refused = await fleet.post("/v1/events", json=said, headers=administrator)
    assert (refused.status_code, refused.json()["errors"][0]["pointer"]) == (422, "#/outstanding/0/reason")
    assert (
        await told(fleet, administrator, closed(outstanding=[{"asset": tag, "reason": f"{reason}lost"} for tag in ALL]))
        == []
    )


async def test_reasons_stay_given_where_a_later_opening_asks_for_none(
    fleet: httpx.AsyncClient, administrator: Headers
) -> None:
    """As information it is open again, and closed again without a word; what came under it since needs a reason."""
    await told(fleet, administrator, closed(*ALL, occurred_at=ago(minutes=60)))
    await post(fleet, administrator, opened(occurred_at=ago(minutes=50), action="information"))
    assert await closed_at(fleet, administrator) is None
    assert await reasons(fleet, administrator) == dict.fromkeys(ALL, "in a container at sea")
    assert await told(fleet, administrator, closed(occurred_at=ago(minutes=45))) == []
    assert await closed_at(fleet, administrator) is not None

    await post(fleet, administrator, opened(occurred_at=ago(minutes=40), action="information"))
    again = fitted("FX-1", BAD, occurred_at=ago(minutes=20))
    came = [hood("FX-6", BAD, occurred_at=ago(minutes=30)), actioned("FX-1", occurred_at=ago(minutes=25)), again]
    await post(fleet, administrator, *came)
    assert await told(fleet, administrator, closed()) == left("FX-1", "FX-6")
    assert await closed_at(fleet, administrator) is None
    assert await told(fleet, administrator, closed("FX-1", "FX-6")) == []


async def test_a_rehearsal_of_what_was_closed_opens_nothing(fleet: httpx.AsyncClient, administrator: Headers) -> None:
    """It was opened in earnest once: the campaign stays over, with its reasons."""
    await told(fleet, administrator, closed(*ALL, occurred_at=ago(minutes=60)))
    before = await closed_at(fleet, administrator)
    await post(fleet, administrator, opened(occurred_at=ago(minutes=50), rehearsal=True))
    assert await closed_at(fleet, administrator) == before is not None
    assert await reasons(fleet, administrator) == dict.fromkeys(ALL, "in a container at sea")
