"""What is done with a unit against a stop-use recall is an exception, and says so."""

import httpx
import pytest

from tests.http.firm import Headers, ago, issued, message, post
from tests.http.keys import Keys
from tests.http.plant import looked_at, report
from tests.http.recall_firm import BAD, fitted, hood
from tests.http.recall_fleet import GOOD, actioned, fleet, opened, stop

__all__ = ["fleet"]

USED, CONFLICTING = "used-while-not-to-be-used", "conflicting-history"


async def test_a_use_under_a_recall_is_reported(fleet: httpx.AsyncClient, administrator: Headers) -> None:
    """Worn after the opening, stopped or not, it is a use of a unit not to be used, and rests on the opening."""
    out = [issued(tag, occurred_at=ago(hours=12)) for tag in ("FX-1", "FX-2")]
    before, after = [message("worn", asset="FX-1", wearer="p-7", occurred_at=ago(hours=hours)) for hours in (11, 2)]
    await post(fleet, administrator, *out, before, after)
    await stop(fleet, administrator)
    later = message("worn", asset="FX-2", wearer="p-7", occurred_at=ago(seconds=0))
    await post(fleet, administrator, later)
    rows = {row["row"]: row for row in await report(fleet, administrator, USED)}
    assert {row for row, told in rows.items() if "recall" in told["reasons"]} >= {after["id"], later["id"]}
    assert "recall" not in rows.get(before["id"], {"reasons": []})["reasons"]
    assert (rows[after["id"]]["person"], rows[after["id"]]["severity"]) == ("p-7", "high")
    asked = await fleet.get("/v1/events", params={"kind": "recall-opened"}, headers=administrator)
    [opening] = asked.json()["events"]
    assert opening["seq"] in rows[after["id"]]["because"]
    assert "recall" in rows[after["id"]]["reason"]


async def test_the_standing_rests_on_the_opening(fleet: httpx.AsyncClient, administrator: Headers) -> None:
    """The history of a unit's standing names the event that opened the recall."""
    await post(fleet, administrator, issued("FX-1", occurred_at=ago(hours=12)))
    told = (await fleet.get("/v1/assets/FX-1/standing", headers=administrator)).json()["intervals"]
    [rule] = [rule for rule in told[-1]["rules"] if rule["rule"] == "recall"]
    assert (rule["standing"], rule["reasons"], rule["because"]) == ("do-not-use", ["recall"], [9])


async def test_a_unit_put_back_under_a_recall_is_reported(fleet: httpx.AsyncClient, administrator: Headers) -> None:
    """Handed out or released before anything was done about it, it stays withdrawn, and the report says why."""
    skilled = message("trained", person="p-9", competences=["release"], occurred_at=ago(hours=9))
    await post(fleet, administrator, skilled)
    await stop(fleet, administrator)
    freed = message("released", asset="FX-1", by="p-9", occurred_at=ago(seconds=0))
    out = issued("FX-2", occurred_at=ago(seconds=0))
    [first, second] = await post(fleet, administrator, freed, out)
    assert first["conflicts"] == [{"code": "released-without-ground", "reasons": ["recall"]}]
    assert [one["code"] for one in second["conflicts"]] == ["issued-while-quarantined", "not-ready-to-issue"]
    assert "recall" in second["conflicts"][1]["reasons"]
    assert (first["asset"]["do_not_use"], second["asset"]["do_not_use"]) == (True, True)
    rows = {row["row"]: row for row in await report(fleet, administrator, CONFLICTING)}
    assert all("recall" in rows[one["id"]]["reasons"] for one in (freed, out))
    [told] = await post(fleet, administrator, looked_at(rows[out["id"]], CONFLICTING))
    assert told["conflicts"] == []


async def test_a_mistyped_recall_is_told(fleet: httpx.AsyncClient, administrator: Headers) -> None:
    """What is said of a recall that nobody opened is recorded, told, and told again; strictly it is turned away."""
    done, held = actioned("FX-1"), message("quarantined", asset="FX-2", reason="recall", recall="rc-9")
    done["recall"] = "rc-9"
    codes = [[one["code"] for one in told["conflicts"]] for told in await post(fleet, administrator, done, held)]
    assert codes == [["not-under-recall", "unknown-recall"], ["unknown-recall"]]
    again = await fleet.post("/v1/events", json=done, headers=administrator)
    assert [one["code"] for one in again.json()["conflicts"]] == codes[0]
    strict = administrator | {"prefer": "handling=strict"}
    refused = await fleet.post("/v1/events", json=actioned("FX-3") | {"recall": "rc-9"}, headers=strict)
    assert (refused.status_code, refused.json()["conflicts"]) == (409, ["not-under-recall", "unknown-recall"])
    right = await fleet.post("/v1/events", json=actioned("FX-3"), headers=strict)
    assert (right.status_code, right.json()["conflicts"]) == (201, [])


async def test_what_answers_no_recall_is_told(fleet: httpx.AsyncClient, administrator: Headers, keys: Keys) -> None:
    """A tag was mistyped: the recall bears on nothing there. It stands in the report until it is known to have done.

    To who is bound to another site it is not told, since it says what that unit holds; strictly it is turned away.
    """
    mistyped, right = actioned("FX-4", occurred_at=ago(hours=1)), actioned("FX-1", occurred_at=ago(hours=1))
    [one, other] = await post(fleet, administrator, mistyped, right)
    assert (one["conflicts"], other["conflicts"]) == ([{"code": "not-under-recall"}], [])
    rows = {row["row"]: row for row in await report(fleet, administrator, CONFLICTING)}
    assert (rows[mistyped["id"]]["reasons"], right["id"] in rows) == (["not-under-recall"], False)
    strict = administrator | {"prefer": "handling=strict"}
    refused = await fleet.post("/v1/events", json=actioned("FX-4"), headers=strict)
    assert (refused.status_code, refused.json()["conflicts"]) == (409, ["not-under-recall"])
    bound = await keys.make("site-lead", ["east-yard"])
    [afar] = await post(fleet, bound, actioned("FX-4", site="east-yard"))
    assert [conflict["code"] for conflict in afar["conflicts"]] == ["not-received"]
    await post(fleet, administrator, fitted("FX-4", BAD, occurred_at=ago(hours=4), reason="loading"))
    rows = {row["row"]: row for row in await report(fleet, administrator, CONFLICTING)}
    assert mistyped["id"] not in rows


@pytest.mark.parametrize("rehearsal", [False, True])
@pytest.mark.parametrize("hours", [2, 0.5])
async def test_what_is_told_before_its_recall_answers_it_by_its_moment(
    fleet: httpx.AsyncClient, administrator: Headers, hours: float, *, rehearsal: bool
) -> None:
    """An opening that arrives late makes it no mistake, if it was opened before and speaks of the unit."""
    done = [actioned(tag, recall="rc-9", occurred_at=ago(hours=1)) for tag in ("FX-1", "FX-4")]
    for one in await post(fleet, administrator, *done):
        assert [conflict["code"] for conflict in one["conflicts"]] == ["not-under-recall", "unknown-recall"]
    await post(fleet, administrator, opened(recall="rc-9", occurred_at=ago(hours=hours), rehearsal=rehearsal))
    rows = {row["row"] for row in await report(fleet, administrator, CONFLICTING)}
    assert [one["id"] in rows for one in done] == [hours < 1, True]


async def test_a_late_swap_makes_uses_that_were_not_to_be(fleet: httpx.AsyncClient, administrator: Headers) -> None:
    """A use under the recall that nobody could know of then is one as soon as the swap is told."""
    used = message("worn", asset="FX-4", wearer="p-7", occurred_at=ago(hours=2))
    await post(fleet, administrator, used)
    assert all("recall" not in row["reasons"] for row in await report(fleet, administrator, USED))
    await post(fleet, administrator, fitted("FX-4", BAD, occurred_at=ago(hours=4), reason="loading"))
    [row] = [row for row in await report(fleet, administrator, USED) if "recall" in row["reasons"]]
    assert (row["row"], row["asset"]) == (used["id"], "FX-4")


async def test_a_remedy_clears_what_is_fitted_then_alone(fleet: httpx.AsyncClient, administrator: Headers) -> None:
    """Put right, a unit may be worn; with the next piece of the lot it is under the recall again."""
    hours = {"out": 5.0, "done": 4.5, "again": 2.0}
    swaps = [
        fitted("FX-1", GOOD, occurred_at=ago(hours=hours["out"])),
        actioned("FX-1", occurred_at=ago(hours=hours["done"])),
        fitted("FX-1", BAD, occurred_at=ago(hours=hours["again"]), reason="loading"),
    ]
    uses = [message("worn", asset="FX-1", wearer="p-7", occurred_at=ago(hours=at)) for at in (6, 3, 1)]
    await post(fleet, administrator, *swaps, *uses, hood("FX-6", GOOD))
    rows = await report(fleet, administrator, USED)
    assert [row["row"] for row in rows if "recall" in row["reasons"]] == [uses[2]["id"], uses[0]["id"]]
