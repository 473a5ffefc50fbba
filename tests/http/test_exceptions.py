"""The exception reports: what a manager must look at."""

from uuid import UUID, uuid5

import httpx

from service.domain.finding import REPORTS
from service.reports import REPORTS as LISTED
from tests.domain.naming import use_ref
from tests.http.firm import Headers, checked, failed, message
from tests.http.keys import Keys
from tests.http.plant import UNIT, counted, examined, handed_in, handed_out, on, plant, post, report, shelved, worn

__all__ = ["plant"]


def test_every_report_is_listed_once_and_explained() -> None:
    """The reports are those of the closed list, in its order of urgency; what is not resolved comes first."""
    assert [one.name for one in LISTED] == list(REPORTS)
    assert next(iter(REPORTS)) == "rejected-reports"


async def test_uses_without_a_check(plant: httpx.AsyncClient, administrator: Headers) -> None:
    """A use of each working day outside the cover of a check is a row, and so is a wearing; a covered use is none."""
    check, issue, wear, _ = await post(
        plant,
        administrator,
        checked("EX-1", occurred_at=on(2, 6, 30)),
        handed_out(2, 7),
        worn(3, 9, wearer="p-7", id="0198c1f2-7a10-7c3e-9b55-3f1d2ab40d02"),
        handed_in(4, 8),
    )
    rows = await report(plant, administrator, "used-without-check")

    assert [(row["at"], row["person"], row["because"]) for row in rows] == [
        (on(4, 0), "p-3071", [check, issue]),
        (on(3, 9), "p-7", sorted([check, issue, wear])),
        (on(3, 0), "p-3071", [check, issue]),
    ]
    assert [row["row"] for row in rows] == [
        str(use_ref(UUID(UNIT), "harrow-dock/2026-03-04/")),
        "0198c1f2-7a10-7c3e-9b55-3f1d2ab40d02",
        str(use_ref(UUID(UNIT), "harrow-dock/2026-03-03/")),
    ]
    assert rows[1] == {
        "row": "0198c1f2-7a10-7c3e-9b55-3f1d2ab40d02",
        "site": "harrow-dock",
        "asset": "EX-1",
        "person": "p-7",
        "item": None,
        "at": on(3, 9),
        "severity": "high",
        "reason": "the unit was used outside the cover of a complete passing check (as posted)",
        "reasons": ["used-without-check"],
        "next": "Have the unit checked before its next use, speak with the wearer, and acknowledge this row.",
        "because": sorted([check, issue, wear]),
        "acknowledged": None,
    }


async def test_uses_that_time_alone_makes(plant: httpx.AsyncClient, administrator: Headers) -> None:
    """A unit that stays in issue is used on each further day without any event; asked as at a moment, up to it."""
    await post(plant, administrator, checked("EX-1", occurred_at=on(2, 6, 30)), handed_out(2, 7))
    rows = await report(plant, administrator, "used-without-check", as_at=on(5, 12))
    later = await report(plant, administrator, "used-without-check", **{"as_at": on(9, 12), "from": on(7, 0)})
    counts = await counted(plant, administrator, as_at=on(5, 12))

    assert [row["at"] for row in rows] == [on(5, 0), on(4, 0), on(3, 0)]
    assert [row["at"] for row in later] == [on(9, 0), on(8, 0), on(7, 0)]
    assert counts["used-without-check"] == {
        "rows": 3, "open": 3, "sites": [{"site": "harrow-dock", "rows": 3, "open": 3}],
    }  # fmt: skip


async def test_uses_of_a_unit_that_was_not_to_be_used(plant: httpx.AsyncClient, administrator: Headers) -> None:
    """Worn after its failure a unit is a row, with what spoke against it; a use before that, or after release, none."""
    issue, _, failure, wear, *_ = await post(
        plant,
        administrator,
        handed_out(2, 7),
        worn(2, 8),
        failed("EX-1", occurred_at=on(2, 9)),
        worn(2, 10, wearer="p-7", until=on(2, 11)),
        examined(2, 12),
        message("released", asset="EX-1", occurred_at=on(2, 13), by="p-9"),
        message("cleaned", asset="EX-1", occurred_at=on(2, 13), scope="unit", method="wiped"),
        handed_out(2, 14),
        checked("EX-1", occurred_at=on(2, 14)),
        worn(2, 15),
        handed_in(2, 16),
    )
    rows = await report(plant, administrator, "used-while-not-to-be-used", to=on(3, 0))

    assert [(row["at"], row["person"], row["reasons"], row["because"]) for row in rows] == [
        (on(2, 10), "p-7", ["withdrawal"], sorted([issue, failure, wear]))
    ]
    assert (rows[0]["severity"], rows[0]["reason"]) == ("high", "used although the unit is withdrawn from use")


async def test_checks_that_passed_against_their_readings(plant: httpx.AsyncClient, administrator: Headers) -> None:
    """Said to have passed with too little air, or with the indicator below its mark; not what failed as it was said."""
    below = "0198c1f2-7a10-7c3e-9b55-3f1d2ab40d04"
    low = "0198c1f2-7a10-7c3e-9b55-3f1d2ab40d05"
    seqs = await post(
        plant,
        administrator,
        checked("EX-1", occurred_at=on(2, 7), airflow_lpm=160.0),
        checked("EX-1", occurred_at=on(2, 8), airflow_lpm=159.9, by="p-4", id=low),
        checked("EX-1", occurred_at=on(2, 9), airflow_indicator="below", by="p-5", id=below),
        failed("EX-1", occurred_at=on(2, 10), airflow_lpm=100.0),
        examined(2, 11, airflow_lpm=120.0),
    )
    rows = await report(plant, administrator, "passed-against-readings")

    assert [(row["at"], row["person"], row["because"]) for row in rows] == [
        (on(2, 11), "p-9", [seqs[4]]),
        (on(2, 9), "p-5", [seqs[2]]),
        (on(2, 8), "p-4", [seqs[1]]),
    ]
    assert [row["row"] for row in rows[1:]] == [below, low]
    assert {(row["severity"], *row["reasons"]) for row in rows} == {("high", "passed-against-readings")}


async def test_examinations_that_are_overdue(plant: httpx.AsyncClient, administrator: Headers) -> None:
    """A unit in issue is a row from the end of its due date until it is examined, under one name all the time."""
    exam = (await post(plant, administrator, handed_out(3, 7), handed_in(3, 8), handed_out(4, 7)))[0] - 1
    before = await report(plant, administrator, "overdue-examination", as_at="2026-04-02T22:59:59Z")
    rows = await report(plant, administrator, "overdue-examination", as_at="2026-04-02T23:00:00Z")
    later = await report(plant, administrator, "overdue-examination", as_at="2026-04-20T12:00:00Z")
    known = {"known_at": (await plant.get("/v1/exceptions", headers=administrator)).json()["known_at"]}
    await post(plant, administrator, examined(1, 9, occurred_at="2026-04-10T09:00:00Z"))
    after = await report(plant, administrator, "overdue-examination", as_at="2026-04-20T12:00:00Z")
    meanwhile = await report(plant, administrator, "overdue-examination", as_at="2026-04-09T12:00:00Z")

    assert (before, after) == ([], [])
    assert rows == later == meanwhile
    assert rows == await report(plant, administrator, "overdue-examination", as_at="2026-04-20T12:00:00Z", **known)
    assert [(row["asset"], row["at"], row["because"], row["reasons"]) for row in rows] == [
        ("EX-1", "2026-04-02T23:00:00Z", [exam], ["thorough-examination"])
    ]
    assert rows[0]["row"] == str(uuid5(UUID(UNIT), "overdue-examination/2026-04-02T23:00:00+00:00"))


async def test_events_that_contradict_the_history(plant: httpx.AsyncClient, administrator: Headers) -> None:
    """Each event is one row with all its conflicts; what a late event explains is one no more."""
    back = "0198c1f2-7a10-7c3e-9b55-3f1d2ab40d06"
    given = "0198c1f2-7a10-7c3e-9b55-3f1d2ab40d07"
    seqs = await post(
        plant,
        administrator,
        message("returned", asset="EX-1", occurred_at=on(2, 9), id=back, by="p-4"),
        message("missing", asset="EX-1", occurred_at=on(3, 9)),
        handed_out(3, 10, id=given, site="east-yard", by="p-5"),
    )
    rows = await report(plant, administrator, "conflicting-history")

    assert [(row["row"], row["site"], row["person"], row["because"]) for row in rows] == [
        (given, "east-yard", "p-5", [seqs[2]]),
        (back, "harrow-dock", "p-4", [seqs[0]]),
    ]
    assert [(row["severity"], row["reasons"]) for row in rows] == [
        ("high", ["issued-while-missing", "not-ready-to-issue", "missing", "not-received"]),
        ("medium", ["returned-without-holder"]),
    ]
    assert rows[1]["reason"] == "returned although nobody held it"
    await post(plant, administrator, handed_out(2, 8))
    assert [row["row"] for row in await report(plant, administrator, "conflicting-history")] == [given]


async def test_who_grants_himself_a_competence_contradicts(plant: httpx.AsyncClient, administrator: Headers) -> None:
    """What was said of a person is a row without a unit, until it is taken back."""
    own = message("trained", occurred_at=on(2, 9), person="p-4", competences=["release"], by="p-4", site="east-yard")
    [seq] = await post(plant, administrator, own)
    [row] = await report(plant, administrator, "conflicting-history")
    count = (await counted(plant, administrator))["conflicting-history"]

    assert (row["row"], row["site"], row["asset"], row["person"]) == (own["id"], "east-yard", None, "p-4")
    assert (row["severity"], row["reasons"], row["because"]) == ("high", ["self-granted-competence"], [seq])
    assert count["sites"] == [{"site": "east-yard", "rows": 1, "open": 1}]
    await post(plant, administrator, message("voided", event=own["id"], reason="entered by mistake", by="p-8"))
    assert await report(plant, administrator, "conflicting-history") == []


async def test_reports_of_failures_head_the_exceptions(
    plant: httpx.AsyncClient, keys: Keys, administrator: Headers
) -> None:
    """One not accepted is a row at its unit's site until another resolves it; so is one of a tag that nobody knows."""
    kiosk = await keys.make("site-app", ["east-yard"])
    first = await plant.post("/v1/events", json=failed("EX-1", colour="red", site="east-yard"), headers=kiosk)
    second = await plant.post("/v1/events", json=failed("EX-9", colour="red", site="east-yard"), headers=kiosk)
    rows = await report(plant, administrator, "rejected-reports")
    told = await counted(plant, administrator)

    assert [(row["row"], row["asset"], row["site"], row["because"]) for row in rows] == [
        (second.json()["rejected"], "EX-9", "east-yard", []),
        (first.json()["rejected"], "EX-1", "harrow-dock", []),
    ]
    assert rows[1]["next"].endswith(f"/v1/rejected/{first.json()['rejected']}")
    assert next(iter(told.items())) == (
        "rejected-reports",
        {
            "rows": 2,
            "open": 2,
            "sites": [{"site": "east-yard", "rows": 1, "open": 1}, {"site": "harrow-dock", "rows": 1, "open": 1}],
        },
    )
    known = (await plant.get("/v1/exceptions", headers=administrator)).json()["known_at"]
    dismissal = f"/v1/rejected/{first.json()['rejected']}/dismissal"
    await plant.post(dismissal, json={"reason": "looked at"}, headers=administrator)
    assert [row["asset"] for row in await report(plant, administrator, "rejected-reports")] == ["EX-9"]
    assert await report(plant, administrator, "rejected-reports", known_at=known, as_at=known) == rows


async def test_stock_below_nothing_until_a_count_explains_it(plant: httpx.AsyncClient, administrator: Headers) -> None:
    """More of a lot was thrown away than there ever was: a row, as long as nothing explains it."""
    _, gone = await post(plant, administrator, *shelved(3, 8))
    (row,) = await report(plant, administrator, "stock-below-nothing")
    site = {"site": "harrow-dock", "item": "pf-170", "unit": "C62", "lot": "l2411"}
    await post(plant, administrator, message("stock-counted", quantity=0, occurred_at=on(4, 8), **site))

    assert row | {"row": ""} == {
        "row": "",
        "site": "harrow-dock",
        "asset": None,
        "person": None,
        "item": "pf-170",
        "at": on(3, 8),
        "severity": "medium",
        "reason": "taken beyond all that was ever told of: 3 C62 of lot L2411",
        "reasons": ["stock-below-nothing"],
        "next": "Count it at the site, or post what came and nobody told of: "
        "GET /v1/stock/ledger shows how it came about.",
        "because": [gone],
        "acknowledged": None,
    }
    assert await report(plant, administrator, "stock-below-nothing") == []
    earlier = await report(plant, administrator, "stock-below-nothing", as_at=on(3, 9))
    assert [one["row"] for one in earlier] == [row["row"]]


async def test_expired_stock_until_it_is_gone(plant: httpx.AsyncClient, administrator: Headers) -> None:
    """A lot that is past its last day is a row from the end of that day on, or since it came, while it is there."""
    site = {"site": "harrow-dock", "item": "pf-170", "unit": "C62"}
    lot = site | {"lot": "L2409", "expires": "2026-03-05"}
    came, _ = await post(
        plant,
        administrator,
        message("stock-received", quantity=4, occurred_at=on(3, 8), **lot),
        message("stock-discarded", quantity=4, occurred_at=on(9, 8), reason="too old", **lot),
    )

    async def found(moment: str) -> list[tuple[str, str, list[int]]]:
        rows = await report(plant, administrator, "expired-stock", as_at=moment)
        return [(one["at"], one["reason"], one["because"]) for one in rows]

    assert await found(on(5, 23)) == []
    said = "past its last day and still there: 4 C62 of lot L2409 (good to 2026-03-05)"
    assert await found(on(6, 0)) == [(on(6, 0), said, [came])]
    assert await found(on(9, 9)) == []
    late, _ = await post(plant, administrator, *shelved(10, 8))
    said = "past its last day and still there: 2 C62 of lot L2301 (good to 2026-01)"
    assert await found(on(11, 0)) == [(on(10, 8), said, [late])]
