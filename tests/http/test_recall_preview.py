"""What a recall would do that nobody has opened."""

from datetime import UTC, datetime
from random import Random
from typing import Any

import httpx
import pytest
from psycopg import AsyncConnection

from service.assessing import recall_unknown
from service.store.connecting import connect
from service.store.dump_derived import DUMPS
from service.store.scope import set_organisation
from tests.http.about_noon import not_known
from tests.http.conftest import Refusing
from tests.http.doors import OURS
from tests.http.firm import Headers, Message, ago, message, model, post, registered, site
from tests.http.keys import Keys
from tests.http.recall_firm import BAD, LOT, fitted, hood, impact, opened, some, stocked, swap, the_fleet, units

WHERE = "/v1/recalls/preview"
KEPT = ("event", "free_text", "rejected_message")


@pytest.fixture
async def fleet(http: httpx.AsyncClient, administrator: Headers) -> httpx.AsyncClient:
    """Give a client of a firm that opened no recall."""
    await post(http, administrator, *the_fleet())
    return http


async def preview(http: httpx.AsyncClient, headers: Headers, body: Any, **asked: str) -> Any:
    """Ask what a recall would do."""
    answered = await http.post(WHERE, json=body, headers=headers, params=asked)
    assert answered.status_code == 200, answered.text
    return answered.json()


async def test_a_preview_tells_what_the_recall_would(fleet: httpx.AsyncClient, administrator: Headers) -> None:
    """It finds the same units and stock as the recall opened after it, and nothing that was done."""
    before = await preview(fleet, administrator, {"criteria": [LOT], "action": "inspect", "due_on": "2199-12-31"})
    await post(fleet, administrator, opened({"minutes": 0}))
    after = await impact(fleet, administrator)

    assert before["recall"] == {
        "recall": None,
        "action": "inspect",
        "due_on": "2199-12-31",
        "rehearsal": False,
        "opened_at": None,
        "closed_at": None,
        "voided_at": None,
        "criteria": [LOT],
        "notice": None,
        "openings": [],
    }
    assert before["total"] == after["total"]
    assert before["stock"] == after["stock"]
    assert [(one["asset"], one["sittings"]) for one in before["units"]] == [
        (one["asset"], one["sittings"]) for one in after["units"]
    ]
    assert (before["progress"], before["rehearsal"]) == ([], None)
    assert units(before)["FX-1"]["do_not_use"] is not None


async def test_a_criterion_that_nothing_meets_is_told(fleet: httpx.AsyncClient, administrator: Headers) -> None:
    """A lot beside a range that it lies outside of names nothing; it is said, and so is it on the notice."""
    wrong = {"item": "pf-170", "lots": [BAD], "lot_from": "L3000", "lot_to": "L3010"}
    told = await preview(fleet, administrator, {"criteria": [wrong, {"item": "pf-170", "lot": "L9"}]})
    assert [(one["code"], one["count"]) for one in told["unknown"]][:1] == [("criterion-unmeetable", 1)]
    assert "FX-1" not in units(told)
    await post(fleet, administrator, opened({"minutes": 5}, criteria=[wrong]))
    notice = await fleet.get("/v1/recalls/rc-1/notice", headers=administrator)
    assert "1: Criteria that no part and no unit meets" in notice.text


async def test_parts_that_are_numbered_so_are_not_passed_over_in_silence(
    fleet: httpx.AsyncClient, administrator: Headers, keys: Keys
) -> None:
    """Serial numbers alone speak of units: where parts have such numbers it is said how those are found.

    But not to who is bound to sites: that there is such a part elsewhere is not theirs to know.
    """
    then = (await preview(fleet, administrator, {"criteria": [{"serials": ["P-88"]}]}))["known_at"]
    await post(fleet, administrator, fitted("FX-4", "L9", part={"serial": "p-88"}))
    found: list[Any] = [
        {"serials": ["P-88", "X"]},
        {"serial_from": "P-80", "serial_to": "P-90"},
        {"serial_from": "P-80"},
    ]
    for numbers in found:
        told = await preview(fleet, administrator, {"criteria": [numbers, {"serials": ["P-89"]}]})
        assert [one["code"] for one in told["unknown"]] == ["parts-so-numbered"]
        assert (told["unknown"][0]["count"], told["total"]["units"]) == (1, 0)
        bound = await keys.make("site-lead", ["east-yard"])
        assert (await preview(fleet, bound, {"criteria": [numbers]}))["unknown"] == []
        before = await preview(fleet, administrator, {"criteria": [numbers]}, known_at=then)
        assert before["unknown"] == []
    others: list[Any] = [{"serial_to": "P-87"}, {"item": "pf-170", "serials": ["P-88"]}, {"model": "northwind-2"}]
    for numbers in others:
        told = await preview(fleet, administrator, {"criteria": [numbers]})
        assert "parts-so-numbered" not in {one["code"] for one in told["unknown"]}


async def test_units_that_are_numbered_so_are_not_passed_over_in_silence(
    fleet: httpx.AsyncClient, administrator: Headers, keys: Keys
) -> None:
    """Serial numbers with an item speak of parts: where units alone have such numbers it is said how those are found.

    To who is bound to sites it is not, since they may be elsewhere.
    """
    numbers = {"serials": ["nw-fx-1"]}, {"serial_from": "NW-FX-0", "serial_to": "NW-FX-2"}, {"serial_from": "NW-FX-4"}
    for one in numbers:
        criteria = [{"item": "pf-170"} | one, {"lot": BAD} | one, {"item": "pf-170", "serials": ["X"]}]
        told = await preview(fleet, administrator, {"criteria": criteria})
        assert {one["code"]: one["count"] for one in told["unknown"]}["units-so-numbered"] == 2
        bound = await keys.make("site-lead", ["east-yard"])
        found = await preview(fleet, bound, {"criteria": criteria})
        assert "units-so-numbered" not in {one["code"] for one in found["unknown"]}
    await post(fleet, administrator, fitted("FX-4", "L9", part={"serial": "NW-FX-1"}))
    others: list[Any] = [{"serials": ["NW-FX-1"]}, {"serial_from": "NW-YE"}, {"serial_to": "NW-FW"}, {"lot": BAD}]
    for one in others:
        told = await preview(fleet, administrator, {"criteria": [{"item": "pf-170"} | one]})
        assert "units-so-numbered" not in {one["code"] for one in told["unknown"]}


async def test_numbers_that_were_not_looked_up_are_not_passed_over_in_silence(
    fleet: httpx.AsyncClient, administrator: Headers, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Of more than so many numbers, or of fewer in many models, the others are told to be left out."""
    numbers = [{"item": "pf-170", "serials": ["NW-FX-1", "NW-FX-2"]}, {"serials": ["P-1"]}, {"serials": ["P-2"]}]

    async def said(most: int) -> dict[str, int]:
        monkeypatch.setattr(recall_unknown, "MOST", most)
        told = await preview(fleet, administrator, {"criteria": numbers})
        found = {one["code"]: one["count"] for one in told["unknown"]}
        return {code: found[code] for code in ("units-so-numbered", "numbers-not-looked-up") if code in found}

    assert await said(4) == {"units-so-numbered": 1}
    assert await said(3) == {"units-so-numbered": 1, "numbers-not-looked-up": 1}
    assert await said(1) == {"units-so-numbered": 1, "numbers-not-looked-up": 3}
    await post(fleet, administrator, model(model="northwind-3"), hood("FX-9", "L9", model="northwind-3"))
    assert await said(3) == {"units-so-numbered": 1, "numbers-not-looked-up": 2}


async def test_what_nobody_defined_is_said(fleet: httpx.AsyncClient, administrator: Headers) -> None:
    """A mistyped item or model speaks of nothing, and the answer says why; so does that of a recall opened by it."""
    wrong = [{"item": "pf-71O", "lot": BAD}, {"model": "nordwind-2"}, LOT, {"model": "northwind-2", "serial_to": "A"}]
    await post(fleet, administrator, opened({"minutes": 0}, "rc-2", criteria=wrong), opened({"minutes": 0}, "rc-3"))
    told = [await preview(fleet, administrator, {"criteria": wrong}), await impact(fleet, administrator, "rc-2")]
    right = [await preview(fleet, administrator, {"criteria": [LOT]}), await impact(fleet, administrator, "rc-3")]
    for answers, count in ((told, [2]), (right, [])):
        for one in answers:
            assert [known["count"] for known in one["unknown"] if known["code"] == "not-defined"] == count


async def everything(conn: AsyncConnection) -> dict[str, list[object]]:
    """Give every row of the log, of what was refused, and of all that is derived."""
    await set_organisation(conn, OURS)
    found: dict[str, list[object]] = {}
    for name, query in DUMPS.items():
        found[name] = list(await (await conn.execute(query, {"organisation": OURS})).fetchall())
    for table in KEPT:
        rows = await conn.execute(f"SELECT t::text FROM ledger.{table} t ORDER BY 1")  # noqa: S608 - names of this file
        found[table] = list(await rows.fetchall())
    return found


async def test_nothing_is_recorded(fleet: httpx.AsyncClient, administrator: Headers, owner_url: str) -> None:
    """The log, the messages that were refused and every derived table are to the byte what they were."""
    async with await connect(owner_url) as owner, owner.transaction():
        before = await everything(owner)
    await preview(fleet, administrator, {"criteria": [LOT]})
    await fleet.post(WHERE, json={"criteria": [{}]}, headers=administrator)
    async with await connect(owner_url) as owner, owner.transaction():
        after = await everything(owner)

    assert after == before
    assert len(before["event"]) == 14
    assert before["stay"]


async def test_both_clocks_apply(fleet: httpx.AsyncClient, administrator: Headers) -> None:
    """As at a moment what had the lot then is affected; what came to be known later is left out."""
    known = (await preview(fleet, administrator, {"criteria": [LOT]}))["known_at"]
    await post(fleet, administrator, swap("FX-4", {"hours": 14}, BAD))
    body = {"criteria": [LOT]}
    now = await preview(fleet, administrator, body)
    early = await preview(fleet, administrator, body, as_at=ago(hours=13))
    then = await preview(fleet, administrator, body, as_at=ago(hours=13), known_at=known)

    found = [[tag for tag, one in units(told).items() if one["affected"]] for told in (now, early, then)]
    assert found == [
        ["FX-1", "FX-3", "FX-4", "YD-1"],
        ["FX-1", "FX-2", "FX-3", "FX-4", "YD-1"],
        ["FX-1", "FX-2", "FX-3", "YD-1"],
    ]


async def test_what_is_put_away_already_is_told(fleet: httpx.AsyncClient, administrator: Headers) -> None:
    """A unit that lies withdrawn for another reason is put away, by the records, and located by nobody."""
    damaged = message("quarantined", asset="FX-1", reason="damage", place="cage-1", occurred_at=ago(minutes=30))
    await post(fleet, administrator, damaged)
    told = await preview(fleet, administrator, {"criteria": [LOT]})

    assert some(told["total"])["put_away"] == 1
    assert (units(told)["FX-1"]["located_at"], units(told)["FX-1"]["stopped_at"]) == (None, None)


async def test_pages_and_tables_of_a_preview(fleet: httpx.AsyncClient, administrator: Headers) -> None:
    """With the same body the next page follows, and a table has a line a unit."""
    body = {"criteria": [LOT]}
    first = await preview(fleet, administrator, body, limit="3")
    second = await preview(fleet, administrator, body, limit="3", after=first["next"])
    table = await fleet.post(WHERE, json=body, headers=administrator | {"accept": "text/csv"})

    assert [list(units(page)) for page in (first, second)] == [["FX-1", "FX-2", "FX-3"], ["YD-1"]]
    assert table.headers["content-type"].startswith("text/csv")
    assert len(table.text.splitlines()) == 5


async def test_a_key_of_a_site_previews_its_own(fleet: httpx.AsyncClient, administrator: Headers, keys: Keys) -> None:
    """Units of another site are as if not there; roles that read no summary are refused."""
    told = await preview(fleet, await keys.make("site-lead", ["east-yard"]), {"criteria": [LOT]})
    answered = await fleet.post(WHERE, json={"criteria": [LOT]}, headers=await keys.make("site-app", ["east-yard"]))

    assert (list(units(told)), [one["site"] for one in told["stock"]]) == (["YD-1"], ["east-yard"])
    assert answered.status_code == 403
    assert list(units(await preview(fleet, administrator, {"criteria": [LOT]}, site="east-yard"))) == ["YD-1"]


@pytest.mark.parametrize(
    ("body", "pointers"),
    [
        ({}, ["#/criteria"]),
        ({"criteria": []}, ["#/criteria"]),
        ({"criteria": [{}]}, ["#/criteria/0"]),
        ({"criteria": [LOT, {"item": "pf 170"}]}, ["#/criteria/1/item"]),
        ({"criteria": [{"lots": ["A"] * 101}]}, ["#/criteria/0/lots"]),
        ({"criteria": [{"made_from": "2026-02-01", "made_to": "2026-01-01"}]}, ["#/criteria/0/made_to"]),
        ({"criteria": [{"lot": BAD, "colour": "red"}], "action": "burn"}, ["#/action", "#/criteria/0/colour"]),
        ({"criteria": [LOT], "due_on": "0001-01-01"}, ["#/due_on"]),
        ({"criteria": [LOT], "recall": "rc-1"}, ["#/recall"]),
        ({"criteria": [LOT] * 101}, ["#/criteria"]),
        ([LOT], ["#"]),
    ],
)
async def test_faults_are_told_as_for_events(refusing: Refusing, body: Any, pointers: list[str]) -> None:
    """Each fault of the criteria has its place, as in `recall-opened`."""
    answered = await refusing.http.post(WHERE, json=body, headers=refusing.administrator)

    assert (answered.status_code, answered.json()["type"]) == (422, "/problems/malformed")
    assert sorted(error["pointer"] for error in answered.json()["errors"]) == pointers


@pytest.mark.parametrize(
    "text", ["'; DROP TABLE ledger.event; --", "%(organisation)s", "\u202eL2412", "<b>", "part:x:"]
)
async def test_hostile_labels_find_nothing_else(fleet: httpx.AsyncClient, administrator: Headers, text: str) -> None:
    """Labels are compared and nothing more: only a filter of an unknown lot may be of any."""
    told = await preview(fleet, administrator, {"criteria": [{"lot": text, "item": "pf-170"}]})

    assert [tag for tag, one in units(told).items() if one["certain"]] == []
    assert list(units(told)) == ["FX-3"]


async def test_what_was_taken_out_is_found_whatever_stands_beside_it(
    fleet: httpx.AsyncClient, administrator: Headers
) -> None:
    """A swap that names the lot it took out and not the item: with criteria of units beside it, and in the past too."""
    out = message("part-replaced", asset="FX-4", position="particle-filter", reason="other", out={"lot": "L77"})
    named = swap("FX-5", {"hours": 2}, "L9", out={"serial": "S1"}, part={"item": "pf-200"})
    await post(fleet, administrator, hood("FX-5", "L9"), out, named)
    then = datetime.now(UTC).isoformat()
    await post(fleet, administrator, hood("FX-6", "L9"))
    lot, serial, unit = {"item": "pf-170", "lot": "L77"}, {"item": "pf-170", "serials": ["S1"]}, {"serials": ["none"]}

    async def found(*criteria: Any, **asked: str) -> list[str]:
        told = await fleet.post(WHERE, json={"criteria": criteria}, headers=administrator, params=asked)
        return [one["asset"] for one in told.json()["units"] if one["certain"]]

    assert [await found(lot), await found(lot, unit), await found(lot, known_at=then)] == [["FX-4"]] * 3
    assert [await found(serial), await found(serial, unit), await found(serial, known_at=then)] == [["FX-5"]] * 3


async def test_what_is_taken_out_may_be_written_otherwise(fleet: httpx.AsyncClient, administrator: Headers) -> None:
    """Labels are compared trimmed and in capitals (R13): a part is no other, of a lot that is not known, for that."""
    part = {"item": "pf-170", "lot": "L77", "serial": "S-1", "condition": "new"}
    fitted_so = [
        {"position": "particle-filter", "part": part},
        {"position": "battery", "part": part | {"item": "bat-64"}},
    ]
    unit = registered("FX-7", parts=fitted_so)
    await post(fleet, administrator, unit, swap("FX-7", {"hours": 2}, "L9", out={"item": "pf-170", "serial": " s-01"}))

    assert "FX-7" in units(await preview(fleet, administrator, {"criteria": [{"item": "pf-170", "lot": "L77"}]}))
    assert "FX-7" not in units(await preview(fleet, administrator, {"criteria": [{"item": "pf-170", "lot": "L78"}]}))


async def test_an_expiry_may_be_a_month(fleet: httpx.AsyncClient, administrator: Headers) -> None:
    """In a criterion it means all its days; of a part that states no more it may be any, also beyond the criterion."""
    month, day = (fitted(tag, "L5", part={"expires": on}) for tag, on in (("FX-1", "2029-05"), ("FX-2", "2029-05-10")))
    await post(fleet, administrator, month, day)

    async def certain(first: str, last: str) -> dict[str, bool]:
        meant = {"item": "pf-170", "lot": "L5", "expires_from": first, "expires_to": last}
        told = await preview(fleet, administrator, {"criteria": [meant]})
        return {
            one["asset"]: one["sittings"][-1]["certain"] for one in told["units"] if one["asset"] in {"FX-1", "FX-2"}
        }

    assert await certain("2029-05", "2029-05") == {"FX-1": True, "FX-2": True}
    assert await certain("2029-05-01", "2029-05-15") == {"FX-1": False, "FX-2": True}
    assert await certain("2029-06", "2029-07-15") == {}


WRITTEN = [
    "\ufeffL2411",
    "L2411\u200b",
    "\u200eL2411",
    "L\u00ad2411",
    "\uff2c\uff12\uff14\uff11\uff11",
    "\uff4c02411",
    "L2411\ufe0f",
]


async def test_a_lot_is_found_however_it_was_written(http: httpx.AsyncClient, administrator: Headers) -> None:
    """With marks that nobody sees, or wide: in units and in stock, by the lot and in a range; no lot is unknown."""
    await post(
        http,
        administrator,
        *(site("harrow-dock"), model()),
        *(hood(f"FX-{nth}", lot) for nth, lot in enumerate(WRITTEN)),
        *(hood("FX-8", BAD), hood("FX-9", "\u200bL2412")),
        *(stocked(2.0, lot, occurred_at=ago(hours=20 - nth)) for nth, lot in enumerate(WRITTEN)),
    )
    found = {f"FX-{nth}" for nth in (*range(len(WRITTEN)), 8)}
    for lot in (*WRITTEN, BAD):
        for criterion in ({"lot": lot}, {"lots": [lot]}, {"lot_from": lot, "lot_to": lot}):
            told = await preview(http, administrator, {"criteria": [{"item": "pf-170"} | criterion]})
            assert set(units(told)) == found
            assert told["total"]["certain"] == len(found)
            assert [one["quantity"] for one in told["stock"]] == [2.0]
            assert list(not_known(told)) == ["not-located"]


def received(lot: str | None, quantity: float, where: str = "harrow-dock") -> Message:
    """Take filters in, before any is fitted."""
    said = {} if lot is None else {"lot": lot}
    said |= {"site": where, "item": "pf-170", "unit": "each", "occurred_at": ago(hours=19)}
    return message("stock-received", quantity=quantity, **said)


@pytest.mark.parametrize("way", ["discarded", "moved", "fitted"])
async def test_stock_of_no_known_lot_may_still_be_there_where_another_may_have_been_taken(
    http: httpx.AsyncClient, administrator: Headers, way: str
) -> None:
    """Five of no lot and ten of another came; of five that went no lot was said: all five may be of the recalled one.

    Of twelve that went, as of a site where there was no other, some must have been of those.
    """
    await post(http, administrator, site("works"), model())
    for where, other, much in (("harrow-dock", 10, 5), ("east-yard", 10, 12), ("north-lab", 0, 5)):
        said = {"item": "pf-170", "quantity": much, "unit": "each", "occurred_at": ago(hours=9)}
        gone = {
            "discarded": [message("stock-discarded", site=where, reason="wet", **said)],
            "moved": [message("stock-moved", site=where, to_site="works", **said)],
            "fitted": [
                swap(f"{where}-1", {"hours": 9, "minutes": nth}, None, site=where, reason="loading")
                for nth in range(much)
            ],
        }[way]
        came = [received(None, 5, where), *([received("L-8", other, where)] if other else [])]
        await post(http, administrator, site(where), hood(f"{where}-1", "L-7", site=where), *came, *gone)
    told = await preview(http, administrator, {"criteria": [{"item": "pf-170", "lot": "L-9"}]})
    stock = {one["site"]: (one["lot"], one["quantity"], one["certain"]) for one in told["stock"]}

    assert {where: of_it for where, of_it in stock.items() if where != "works"} == {
        "harrow-dock": (None, 5.0, False),
        "east-yard": (None, 3.0, False),
    }


async def test_what_was_taken_without_a_lot_may_be_what_came_that_day(
    http: httpx.AsyncClient, administrator: Headers
) -> None:
    """A delivery that states its day alone counts at the end of that; what was taken at noon may be of it."""
    day = ago(days=3)[:10]
    came = received("L-8", 10) | {"occurred_on": day}
    del came["occurred_at"]
    gone = {"site": "harrow-dock", "item": "pf-170", "quantity": 5, "unit": "each", "reason": "wet"}
    first = received(None, 5) | {"occurred_at": ago(days=5)}
    discarded = message("stock-discarded", occurred_at=f"{day}T12:00:00+00:00", **gone)
    await post(http, administrator, site("harrow-dock"), model(), first, came, discarded)
    told = await preview(http, administrator, {"criteria": [{"item": "pf-170", "lot": "L-9"}]})

    assert [(one["lot"], one["quantity"], one["certain"]) for one in told["stock"]] == [(None, 5.0, False)]


@pytest.mark.parametrize(
    ("first", "by_day", "last", "quantity"),
    [((None, 0), ("counted", 0), ("received", 3), 3.0), (("received", 5), ("discarded", 4), ("counted", 1), 1.0)],
)
async def test_no_box_is_lost_by_what_states_its_day_alone(
    http: httpx.AsyncClient,
    administrator: Headers,
    first: tuple[str | None, int],
    by_day: tuple[str, int],
    last: tuple[str, int],
    quantity: float,
) -> None:
    """It counts as the day ends, and may have been before what came at noon, or before what was counted then."""
    day = ago(days=3)[:10]

    def said(kind: str, much: int, **when: str) -> Message:
        of_it = {"site": "harrow-dock", "item": "pf-170", "unit": "each", "lot": "L-9", "quantity": much}
        return message(f"stock-{kind}", **of_it, **({"reason": "wet"} if kind == "discarded" else {}), **when)

    told = [] if first[0] is None else [said(first[0], first[1], occurred_at=ago(days=5))]
    stated = said(*by_day, occurred_on=day)
    await post(http, administrator, site("harrow-dock"), model(), *told, stated)
    await post(http, administrator, said(*last, occurred_at=f"{day}T12:00:00+00:00"))
    found = await preview(http, administrator, {"criteria": [{"item": "pf-170", "lot": "L-9"}]})

    assert [(one["lot"], one["quantity"], one["certain"]) for one in found["stock"]] == [("L-9", quantity, True)]


async def test_an_accent_is_found_however_it_was_written(http: httpx.AsyncClient, administrator: Headers) -> None:
    """After its letter or in one with it, in small letters or in capitals."""
    composed, apart = "\u00c91", "e\u03011"
    await post(http, administrator, site("harrow-dock"), model(), hood("FX-1", composed), hood("FX-2", apart))
    for lot in (composed, apart):
        told = await preview(http, administrator, {"criteria": [{"item": "pf-170", "lot": lot}]})
        assert (set(units(told)), list(not_known(told))) == ({"FX-1", "FX-2"}, ["not-located"])


async def test_a_serial_number_is_found_however_it_was_written(http: httpx.AsyncClient, administrator: Headers) -> None:
    """It is the unit's own, also where it is registered again: that contradicts what is known."""
    await post(http, administrator, site("harrow-dock"), model(), hood("FX-1", "L9", serial="\ufeffNW-77"))
    (again,) = await post(
        http, administrator, hood("FX-2", "L9", serial="\uff2e\uff37-\uff17\uff17", occurred_at=ago(hours=1))
    )
    told = await preview(http, administrator, {"criteria": [{"serials": ["nw-\u200b77"]}]})
    assert [one["code"] for one in again["conflicts"]] == ["serial-known"]
    assert list(units(told)) == ["FX-2"]


async def test_the_longest_label_is_kept_and_found(http: httpx.AsyncClient, administrator: Headers) -> None:
    """One whose every character stands for eighteen, among others that stand for many."""
    signs = ["\ufdfa", *map(chr, range(0x3300, 0x3358)), "\u215f", *map(chr, range(0xFC5E, 0xFC64))]
    longest = ["\ufdfa" * 100, *("".join(Random(seed).choices(signs, k=100)) for seed in range(20))]  # noqa: S311 -- no secret
    fitted_now = [hood(f"FX-{nth}", lot, serial="\U0001f9ff" * 98 + f"{nth:02}") for nth, lot in enumerate(longest)]
    await post(http, administrator, site("harrow-dock"), model(), *fitted_now)
    for nth, lot in enumerate(longest):
        told = await preview(http, administrator, {"criteria": [{"item": "pf-170", "lot": lot}]})
        assert list(units(told)) == [f"FX-{nth}"]


@pytest.mark.parametrize("label", ["\u200b", "\u2060 \ufeff\u00ad", "\U000e0041", "\u3164\ufe0f"])
async def test_a_label_that_nobody_sees_is_refused(
    fleet: httpx.AsyncClient, administrator: Headers, label: str
) -> None:
    """As a blank one is, where it stands: in an event and in what is asked."""
    criteria = [LOT, {"item": "pf-170", "lots": [BAD, label]}]
    refused = [
        await fleet.post(WHERE, json={"criteria": criteria}, headers=administrator),
        await fleet.post("/v1/events", json=opened({"minutes": 0}, criteria=criteria), headers=administrator),
        await fleet.post("/v1/events", json=hood("FX-6", label), headers=administrator),
        await fleet.post("/v1/events", json=hood("FX-6", BAD, serial=label), headers=administrator),
        await fleet.post("/v1/events", json=hood("FX-6", BAD, serial=" "), headers=administrator),
    ]
    told = "must be one line of text that says something, without control characters"
    assert [(one.status_code, one.json()["type"]) for one in refused] == [(422, "/problems/malformed")] * 5
    assert [(one.json()["errors"][0]["pointer"], one.json()["errors"][0]["detail"]) for one in refused] == [
        ("#/criteria/1/lots/1", told),
        ("#/criteria/1/lots/1", told),
        ("#/parts/0/part/lot", told),
        ("#/serial", told),
        ("#/serial", told),
    ]


async def test_a_cursor_of_a_preview_goes_on_with_no_other_body(
    fleet: httpx.AsyncClient, administrator: Headers
) -> None:
    """What is asked in the body filters the list: a page of another would leave out the units before it in silence."""
    first = await preview(fleet, administrator, {"criteria": [LOT]}, limit="2")
    asked = {"limit": "2", "after": first["next"]}
    spaced = await fleet.post(
        WHERE,
        content=b'{ "criteria": [ {"lot": "L2411", "item": "pf-170"} ] }',
        headers=administrator | {"content-type": "application/json"},
        params=asked,
    )
    other = await fleet.post(WHERE, json={"criteria": [{"item": "bat-64"}]}, headers=administrator, params=asked)

    assert [one["asset"] for one in spaced.json()["units"]] == ["FX-3", "YD-1"]
    assert (other.status_code, other.json()["type"]) == (400, "/problems/bad-cursor")
