"""Recalls as they are recorded: who is judged again, when, and that a rebuild finds it all as it is."""

from datetime import datetime
from typing import Any

import msgspec
import pytest
from psycopg import AsyncConnection

from service import assess
from service.ledger import Ledger
from service.rebuild import differences
from service.recording import attempt
from service.recording import recalled as recalling
from service.recording.desk import Desk
from service.recording.draft import Draft
from service.recording.recalled import demand_reached, reach_recalled
from service.store.append import append
from service.store.connecting import connect
from service.store.scope import set_organisation
from tests.databases.statements import statements
from tests.oracle.firm import COWL, FIRM, HOOD, check, defined, issue, part, position, register, tell
from tests.oracle.posting import Posted, moment, say
from tests.use.posting import ORGANISATION, caller_of, post, post_together
from tests.use.rebuilt import silent
from tests.use.test_waiting import named

OFFICE = caller_of("office")
KINS = "SELECT kin, version FROM ledger.kin WHERE organisation = %s ORDER BY kin"
POSITIONS = {"particle-filter": "p3", "pre-filter": "pre", "breathing-tube": "tube", "battery": "cell"}
LOT_9 = {"item": "p3", "lot": "L-9"}
OPENED = "2026-03-02 12:00"


def hood(tag: str, lot: str | None = "L-10") -> list[Posted]:
    """Register a hood with all its parts, its filter of a lot, and issue it."""
    parts = [{"position": name, "part": part(item, lot="T-1")} for name, item in POSITIONS.items()]
    parts[0]["part"] = part("p3", lot=lot) if lot else part("p3")
    return [register(tag=tag, parts=parts), issue("2026-03-02 07:00", tag=tag)]


def fleet() -> list[Posted]:
    """Set up the firm with a hood of the lot, one of another, one of an unknown one, and one nothing is known of."""
    bare = [register(tag="H-4"), issue("2026-03-02 07:00", tag="H-4")]
    return named([*FIRM, *hood("H-1", "L-9"), *hood("H-2"), *hood("H-3", None), *bare])


def recall(at: str = OPENED, *criteria: dict[str, Any], **fields: Any) -> Posted:
    """Open a recall."""
    given = {"recall": "r-1", "action": "stop-use", "criteria": list(criteria or [LOT_9])} | fields
    return say("recall-opened", at, "m-2", **given)


def told(posted: list[Posted], first: int = 500) -> list[Posted]:
    """Give messages ids of their own, as what they are."""
    return named(posted, first)


async def stored(owner_url: str) -> dict[str, int]:
    """Give the version of every kin."""
    async with await connect(owner_url) as owner, owner.transaction():
        await set_organisation(owner, ORGANISATION)
        return dict(await (await owner.execute(KINS, [ORGANISATION])).fetchall())


async def differing(owner_url: str) -> list[object]:
    """Name every derived row that a rebuild would write otherwise."""
    async with await connect(owner_url) as owner, owner.transaction():
        await set_organisation(owner, ORGANISATION)
        return list(await differences(owner, ORGANISATION, silent))


async def recalled(ledger: Ledger, as_at: str, known_at: datetime | None = None) -> int:
    """Count the units that the recall rule forbids."""
    answer = msgspec.json.encode(await assess.compliance(ledger, OFFICE, as_at=moment(as_at), known_at=known_at))
    by_rule: dict[str, dict[str, int]] = msgspec.json.decode(answer)["total"]["by_rule"]
    return by_rule["recall"]["do-not-use"]


async def test_a_recall_judges_those_again_that_it_may_reach(ledger: Ledger, owner_url: str) -> None:
    """The hood of the lot, that of an unknown one and that of which nothing is known; the other is not written."""
    assert {one.status for one in await post(ledger, fleet())} == {201}
    before = await stored(owner_url)
    [receipt] = await post(ledger, told([recall()]))
    assert receipt.status == 201
    after = await stored(owner_url)
    assert {kin for kin in after if after[kin] != before[kin]} == {"H-1", "H-3", "H-4"}
    assert await recalled(ledger, "2026-03-02 11:59") == 0
    assert await recalled(ledger, OPENED) == 3
    assert await differing(owner_url) == []


async def test_lots_of_a_notice_that_names_no_item_are_looked_for_together(ledger: Ledger) -> None:
    """An opening asks the database less often than it names lots: not for each of them, nor for each behind an item."""
    await post(ledger, fleet())
    lots = [f"Z-{number}" for number in range(100)]
    with statements() as sent:
        [receipt] = await post(ledger, told([recall(OPENED, {"lots": lots})]))
    assert receipt.status == 201
    assert len(sent) < len(lots)


async def test_what_was_folded_before_the_opening_is_not_read_again(
    ledger: Ledger, owner_url: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Units are judged on from where they were left, unless something was folded since the recall opened."""
    anew: list[str] = []
    plain = Draft.fold_anew

    def watched(draft: Draft, world: Any) -> None:
        anew.append(draft.name)
        plain(draft, world)

    await post(ledger, fleet())
    await post(ledger, told([check("2026-03-02 11:00", tag="H-3")]))
    monkeypatch.setattr(Draft, "fold_anew", watched)
    await post(ledger, told([recall("2026-03-02 11:00", received=OPENED)], 600))
    assert anew == ["H-3"]
    assert await differing(owner_url) == []


@pytest.mark.parametrize(("many", "while_folding"), [(3, "10min"), (4, "1min")])
async def test_the_database_waits_for_a_recall_of_very_many(
    many: int, while_folding: str, ledger: Ledger, monkeypatch: pytest.MonkeyPatch
) -> None:
    """To fold all units of a large firm takes minutes; once they are written nobody is waited for that long."""
    await post(ledger, fleet())
    patience: list[str] = []

    async def appended(conn: AsyncConnection, *args: Any, **kwargs: Any) -> Any:
        patience.append(await idling(conn))
        return await append(conn, *args, **kwargs)

    async def demanded(desk: Desk) -> None:
        patience.append(await idling(desk.conn))
        await demand_reached(desk)

    monkeypatch.setattr(attempt, "MANY", many - 1)
    monkeypatch.setattr(attempt, "append", appended)
    monkeypatch.setattr(attempt, "demand_reached", demanded)
    (receipt,) = await post(ledger, told([recall()]))

    assert receipt.status == 201
    assert patience == [while_folding, "5s"]


async def idling(conn: AsyncConnection) -> str:
    """Give how long the database waits for us in this transaction."""
    row = await (await conn.execute("SHOW idle_in_transaction_session_timeout")).fetchone()
    assert row is not None
    return str(row[0])


async def test_the_past_is_as_it_was_known(ledger: Ledger) -> None:
    """Asked with what was known before, a recall that was recorded later says nothing."""
    *_, last = await post(ledger, fleet())
    await post(ledger, told([recall("2026-03-02 08:00", received=OPENED, sent=OPENED)]))
    assert await recalled(ledger, "2026-03-02 09:00") == 3
    assert await recalled(ledger, "2026-03-02 09:00", last.recorded_at) == 0


async def test_units_known_later_are_caught_by_themselves(ledger: Ledger, owner_url: str) -> None:
    """Opened before any unit was known, a recall reaches those that come."""
    await post(ledger, named([*FIRM, recall("2026-01-02 12:00")]))
    await post(ledger, told([*hood("H-1", "L-9"), *hood("H-2")]))
    assert await recalled(ledger, OPENED) == 1
    assert await differing(owner_url) == []


async def test_voided_restored_and_closed(ledger: Ledger, owner_url: str) -> None:
    """The voiding frees nobody by itself, but the next unit is not caught; restored, the recall reaches that too."""
    await post(ledger, fleet())
    [opening] = told([recall()])
    void = say("voided", "2026-03-02 13:00", "m-1", event=opening.message["id"], reason="wrong lot", key="desk")
    await post(ledger, [opening])
    voided, swap = told(
        [void, tell("filter-replaced", "2026-03-02 14:00", "H-2", position="particle-filter", in_=part("p3", lot="L-9"),
                    reason="loading")], 510,
    )  # fmt: skip
    [receipt, _] = await post(ledger, [voided_as(voided, "desk"), swap])
    assert receipt.status == 201
    assert await recalled(ledger, "2026-03-02 15:00") == 3
    assert await differing(owner_url) == []
    [restored] = told(
        [say("voided", "2026-03-02 16:00", "m-3", event=voided.message["id"], reason="it was right")], 520
    )
    await post(ledger, [restored, *told([say("recall-closed", "2026-03-02 17:00", "m-2", recall="r-1")], 530)])
    assert await recalled(ledger, "2026-03-02 18:00") == 4
    assert await differing(owner_url) == []


def voided_as(posted: Posted, key: str) -> Posted:
    """Post a message with another key."""
    return Posted(posted.message, posted.received_at, posted.sent_at, key=key)


async def test_a_model_defined_anew_frees_no_unit(ledger: Ledger, owner_url: str) -> None:
    """What was listed since a unit came may sit in it; with that version voided, what is listed then."""
    await post(ledger, [*fleet(), *told([recall()])])
    anew = {**HOOD, "positions": [position("particle-filter", "particle", "p9")]}
    [version] = told([defined("model-defined", "2026-03-02 14:00", **anew)], 510)
    await post(
        ledger, [version, *told([register("2026-03-02 15:00", "H-9"), issue("2026-03-02 16:00", tag="H-9")], 515)]
    )
    assert await recalled(ledger, "2026-03-02 17:00") == 3
    assert await differing(owner_url) == []
    await post(ledger, told([recall("2026-03-02 17:00", {"item": "p9"}, recall="r-2")], 520))
    assert await recalled(ledger, "2026-03-02 18:00") == 4
    void = say("voided", "2026-03-02 19:00", "m-3", event=version.message["id"], reason="another model")
    await post(ledger, told([void], 530))
    assert await recalled(ledger, "2026-03-02 20:00") == 4
    assert await differing(owner_url) == []


async def test_another_model_frees_no_unit(ledger: Ledger, owner_url: str) -> None:
    """Registered again as another model, which lists none of it, then with a definition more of the one before."""
    await post(ledger, [*fleet(), *told([defined("model-defined", **COWL), recall()], 500)])
    again = {"model": "cowl", "serial": "S-H-4"}
    [receipt] = await post(ledger, told([register("2026-03-02 14:00", "H-4", **again)], 510))
    assert (receipt.status, await recalled(ledger, "2026-03-02 15:00")) == (201, 3)
    assert await differing(owner_url) == []
    await post(
        ledger, told([recall("2026-03-02 15:00", {"item": "p9"}, {"item": "p8", "lot": "1"}, recall="r-2")], 520)
    )
    [swap] = told(
        [tell("part-identified", "2026-03-02 16:00", "H-4", position="particle-filter", part=part("abek"))], 525
    )
    await post(ledger, [swap])
    assert await recalled(ledger, "2026-03-02 17:00") == 2
    anew = {**HOOD, "positions": [position("pre-filter", "pre-filter", "p9")]}
    [version] = told([defined("model-defined", "2026-03-02 18:00", **anew)], 530)
    await post(ledger, [version])
    assert [await recalled(ledger, f"2026-03-02 {hour}") for hour in ("17:59", "18:00")] == [2, 3]
    assert await differing(owner_url) == []


async def test_another_day_frees_no_unit(ledger: Ledger, owner_url: str) -> None:
    """Registered again with another day, and as another model besides, before a recall of days and under one."""
    day, other = {"made_on": "2025-03-10"}, {"made_on": "2024-01-01"}
    march = {"model": "hood", "made_from": "2025-03-01", "made_to": "2025-03-31"}
    first = [register(tag="D-1", **day), register(tag="D-2", **other)]
    hands = [issue("2026-03-02 07:00", tag=tag) for tag in ("D-1", "D-2")]
    await post(ledger, named([*FIRM, defined("model-defined", **COWL), *first, *hands]))
    again = [
        register("2026-03-02 10:00", "D-1", **other),
        register("2026-03-02 10:00", "D-2", model="cowl", **day),
    ]
    await post(ledger, told([recall("2026-03-02 09:00", march)]))
    assert await recalled(ledger, "2026-03-02 09:30") == 1
    await post(ledger, told(again, 510))
    assert await recalled(ledger, "2026-03-02 11:00") == 2
    assert await differing(owner_url) == []
    await post(ledger, told([recall(OPENED, march, recall="r-2")], 520))
    assert await differing(owner_url) == []
    remedies = [tell("recall-actioned", "2026-03-02 13:00", tag, recall=name, result="not-affected")
                for tag in ("D-1", "D-2") for name in ("r-1", "r-2")]  # fmt: skip
    await post(ledger, told(remedies, 530))
    assert [await recalled(ledger, f"2026-03-02 {hour}") for hour in ("12:00", "13:00")] == [2, 0]


async def test_a_model_taken_back_frees_no_unit(ledger: Ledger, owner_url: str) -> None:
    """With its only version voided, before a recall or under one, and with the voiding voided."""
    posted = fleet()
    model = next(one for one in posted if one.message.get("model") == "hood" and "positions" in one.message)
    await post(ledger, [*posted, *told([recall()])])
    [void] = told([say("voided", "2026-03-02 13:00", "m-3", event=model.message["id"], reason="not ours")], 510)
    [receipt] = await post(ledger, [void])
    assert (receipt.status, await recalled(ledger, "2026-03-02 14:00")) == (201, 3)
    assert await differing(owner_url) == []
    await post(ledger, told([recall("2026-03-02 15:00", {"item": "tube", "lot": "T-9"}, recall="r-2")], 520))
    assert await recalled(ledger, "2026-03-02 16:00") == 3
    assert await differing(owner_url) == []
    await post(ledger, told([say("voided", "2026-03-02 17:00", "m-3", event=void.message["id"], reason="ours")], 530))
    assert await recalled(ledger, "2026-03-02 18:00") == 3
    assert await differing(owner_url) == []


async def test_nobody_voids_their_own_recall(ledger: Ledger) -> None:
    """The person and the key that opened it are refused (R27)."""
    [opening] = told([recall()])
    await post(ledger, [*fleet(), opening])
    own = say("voided", "2026-03-02 13:00", "m-2", event=opening.message["id"], reason="wrong lot")
    same_key = say("voided", "2026-03-02 13:00", "m-1", event=opening.message["id"], reason="wrong lot")
    receipts = [
        *await post(ledger, [voided_as(told([own], 510)[0], "desk")]),
        *await post(ledger, told([same_key], 520)),
    ]
    assert [receipt.problem and receipt.problem.code for receipt in receipts] == ["own-adverse-event"] * 2


async def test_a_rehearsal_judges_nobody(ledger: Ledger, owner_url: str) -> None:
    """It is recorded, and no unit is written."""
    await post(ledger, fleet())
    before = await stored(owner_url)
    [receipt] = await post(ledger, told([recall(rehearsal=True)]))
    assert (receipt.status, await stored(owner_url), await recalled(ledger, OPENED)) == (201, before, 0)


async def test_recalls_and_units_of_one_batch(ledger: Ledger, owner_url: str) -> None:
    """A batch that registers units, opens a recall and changes a filter means the same as message by message."""
    await post(ledger, named(FIRM))
    swap = tell("filter-replaced", "2026-03-02 13:00", "H-2", position="particle-filter", in_=part("p3", lot="L-9"),
                reason="loading")  # fmt: skip
    batch = [
        Posted(one.message, moment("2026-03-02 13:30"), moment("2026-03-02 13:30"))
        for one in told([*hood("H-1", "L-9"), recall(), *hood("H-2"), swap])
    ]
    receipts = await post_together(ledger, batch)
    assert {receipt.status for receipt in receipts} == {201}
    assert await recalled(ledger, "2026-03-02 14:00") == 2
    assert await differing(owner_url) == []


@pytest.mark.parametrize(
    ("coming", "criterion", "under"),
    [
        (hood("H-5", "L-9"), LOT_9, 4),
        ([register(tag="H-5"), issue("2026-03-02 07:00", tag="H-5")], LOT_9, 4),
        (hood("H-5", "L-1"), {"model": "hood"}, 5),
    ],
    ids=["a part", "nothing told", "a model"],
)
async def test_a_unit_recorded_by_others_meanwhile_is_reached(
    coming: list[Posted],
    criterion: dict[str, Any],
    under: int,
    ledger: Ledger,
    owner_url: str,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """What another process records between the search and the append has the recall decided again."""
    await post(ledger, fleet())
    other = Ledger(pool=ledger.pool, clock=ledger.clock)
    late = told(coming, 700)

    async def overtaken(desk: Desk) -> None:
        await reach_recalled(desk)
        if late and any(one.recorded.event.kind == "recall-opened" for one in desk.accepted):
            posted = late[:]
            late.clear()
            await post(other, posted)

    monkeypatch.setattr("service.recording.attempt.reach_recalled", overtaken)
    [receipt] = await post(ledger, told([recall(OPENED, criterion)]))
    assert (receipt.status, late) == (201, [])
    assert await recalled(ledger, OPENED) == under
    assert await differing(owner_url) == []


async def test_what_others_tell_meanwhile_answers_a_rehearsal(
    ledger: Ledger, owner_url: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Between the search and the append somebody tells of a unit what the rehearsal makes no mistake."""
    await post(ledger, fleet())
    other = Ledger(pool=ledger.pool, clock=ledger.clock)
    late = told([tell("recall-actioned", "2026-03-02 14:00", "H-1", recall="r-1", result="fixed")], 700)
    codes: list[str] = []

    async def overtaken(desk: Desk) -> None:
        await reach_recalled(desk)
        if late and any(one.recorded.event.kind == "recall-opened" for one in desk.accepted):
            posted = late[:]
            late.clear()
            [receipt] = await post(other, posted)
            codes.extend(conflict.code for conflict in receipt.conflicts)

    monkeypatch.setattr("service.recording.attempt.reach_recalled", overtaken)
    [receipt] = await post(ledger, told([recall(rehearsal=True)]))
    assert (receipt.status, codes) == (201, ["not-under-recall", "unknown-recall"])
    assert await differing(owner_url) == []


@pytest.mark.parametrize("rehearsal", [False, True])
async def test_units_that_others_join_to_others_meanwhile_are_found(
    ledger: Ledger, owner_url: str, monkeypatch: pytest.MonkeyPatch, *, rehearsal: bool
) -> None:
    """Between the search and the load another process fits a component: what was found has another name then."""
    await post(ledger, fleet())
    other = Ledger(pool=ledger.pool, clock=ledger.clock)
    found = recalling.kins_recalled
    late = told([register("2026-03-02 09:00", tag="A-0", model="pack", serial="P-1", fitted_to="H-1")], 700)

    async def overtaken(*given: Any) -> set[str]:
        names = await found(*given)
        if late:
            posted = late[:]
            late.clear()
            await post(other, posted)
        return names

    monkeypatch.setattr(recalling, "kins_recalled", overtaken)
    [receipt] = await post(ledger, told([recall(rehearsal=rehearsal or None)]))
    assert (receipt.status, late) == (201, [])
    assert await differing(owner_url) == []
