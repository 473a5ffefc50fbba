"""Who had and wore units since a moment, as it is read in part, beside all that is stored of it."""

from collections.abc import Iterable, Iterator
from dataclasses import replace
from datetime import datetime, timedelta
from random import Random
from typing import Any, Final
from uuid import UUID

import msgspec
import pytest
from psycopg import AsyncConnection

from service.assessing import lives
from service.assessing import stored_exposure as reading
from service.assessing.moment import Question, asked
from service.assessing.recalls import impact
from service.assessing.spoken_of import LONGEST_DAY
from service.assessing.stored_exposure import LifeSince, stored_exposure
from service.assessing.stored_lives import Exposure, StoredKin, StoredLife, stays_told, stored_kins, stored_lives
from service.domain.kinds.recall_opened import Criterion
from service.domain.recall.opening import supposed
from service.domain.recall.wearings import Wearing, wearings
from service.domain.standing import BEGINNING, FOREVER
from service.domain.stays import Stay
from service.domain.wearing import KnownBy, Use
from service.known import Memory
from service.ledger import Ledger
from service.remembered import Remembered
from service.store.hands_since import hands_since
from service.store.parts_of_units import Told
from service.store.wearings_since import Since, WearingOfUnit, wearings_since
from tests.oracle.firm import FIRM, check, fails, issue, register, tell, wear
from tests.oracle.histories import random_history
from tests.oracle.posting import Posted
from tests.use.posting import caller_of, post
from tests.use.test_recalls import hood
from tests.use.test_waiting import named

OFFICE = caller_of("office")
USES: Final = """
SELECT at, site, ref, person, ends, known_by, day FROM ledger.use_made
WHERE organisation = %s AND unit = %s AND worn ORDER BY at, ref
"""
HANDS: Final = """
SELECT told, nullif(until, 'infinity') FROM ledger.stay
WHERE organisation = %s AND unit = %s AND position = '' ORDER BY since
"""


def some_id(random: Random) -> str:
    """Make up an id."""
    return str(UUID(int=random.getrandbits(128), version=4))


def handed(random: Random, told: dict[str, Any]) -> dict[str, object]:
    """Let a unit be handed out or back before something was told of it."""
    at = datetime.fromisoformat(told["occurred_at"]) - timedelta(hours=random.randrange(1, 90))
    when = {"occurred_on": f"{at:%Y-%m-%d}"} if random.random() < 0.3 else {"occurred_at": at.isoformat()}
    what = {"kind": "issued", "holder": {"person": random.choice(["p-1", "p-2", "p-3"])}}
    who = {name: told[name] for name in ("asset", "by", "site") if name in told}
    return who | when | random.choice([what, {"kind": "returned"}]) | {"id": some_id(random)}


def told_loosely(random: Random, posted: Iterable[Posted]) -> Iterator[Posted]:
    """Let much state its day alone, and units be handed out and worn besides, some for days."""
    for one in posted:
        message = dict(one.message)
        stamp = message.get("occurred_at")
        if stamp is None or "asset" not in message:
            yield one
            continue
        told: dict[str, Any] = {
            name: message[name] for name in ("asset", "by", "site", "occurred_at") if name in message
        }
        yield replace(one, message=handed(random, told))
        if random.random() < 0.3:
            worn: dict[str, object] = told | {"id": some_id(random), "kind": "worn"}
            if random.random() < 0.5:
                hours = random.choice([0, 1, 30, 48, 49, 100, 300])
                worn["until"] = (datetime.fromisoformat(stamp) + timedelta(hours=hours)).isoformat()
            yield replace(one, message=worn | {"wearer": random.choice(["p-1", "p-2", "p-3"])})
        if "until" not in message and random.random() < 0.3:
            message["occurred_on"] = message.pop("occurred_at")[:10]
        yield replace(one, message=message)


async def units(question: Question) -> list[StoredLife]:
    """Read every unit that there is."""
    cursor = await question.conn.execute("SELECT kin FROM ledger.kin WHERE organisation = %s", [question.organisation])
    kins = dict.fromkeys([kin for (kin,) in await cursor.fetchall()])
    found = await stored_lives(question, await stored_kins(question, kins), kins)
    return [life for lives in found.values() for life in lives]


async def every_hand(question: Question, life: StoredLife) -> list[Stay]:
    """Tell of all who had a unit, by all that is stored."""
    cursor = await question.conn.execute(HANDS, [question.organisation, life.unit])
    rows = await cursor.fetchall()
    return [*stays_told(([told for told, _ in rows], [until for _, until in rows]))]


async def every_wearing(question: Question, life: StoredLife) -> list[Wearing]:
    """Tell all wearings of a unit, of all that is stored."""
    cursor = await question.conn.execute(USES, [question.organisation, life.unit])
    rows = await cursor.fetchall()
    uses = [
        Use(at, site, None, ref, who, ends, worn=True, known_by=known_by, day=day)
        for at, site, ref, who, ends, known_by, day in rows
    ]
    return [*wearings(uses, await every_hand(question, life), FOREVER)]


async def exposure_since(question: Question, life: StoredLife, since: datetime) -> Exposure:
    """Ask who had and wore a unit since a moment."""
    nobody, exposure = await stored_exposure(question, [None, LifeSince(life, since)])
    assert nobody is None
    assert exposure is not None
    return exposure


def lasting_past(since: datetime, worn: Iterable[Wearing]) -> list[Wearing]:
    """Leave out what was over."""
    return [one for one in worn if one.ends is None or one.ends >= since]


def reaching(since: datetime, had: Iterable[Stay]) -> list[Stay]:
    """Leave out who had the unit no more."""
    return [one for one in had if one.until >= since]


def moments(random: Random, worn: Iterable[Wearing], had: Iterable[Stay]) -> list[datetime]:
    """Choose moments at which something begins or ends, or near those."""
    told = [at for one in worn for at in (one.at, one.since, one.until, one.ends) if at is not None]
    told += [at for one in had for at in (one.since, one.day, one.until) if at is not None and at < FOREVER]
    near = [timedelta(0), timedelta(microseconds=1), timedelta(hours=5), LONGEST_DAY]
    chosen = [random.choice(told) + random.choice([-1, 1]) * random.choice(near) for _ in range(6)] if told else []
    return [*chosen, BEGINNING]


@pytest.mark.parametrize("seed", range(3))
async def test_what_may_have_lasted_past_a_moment_is_told_of_a_part_as_of_all(ledger: Ledger, seed: int) -> None:
    """Said to last or not, for days, known by a failure, by a day alone: and less is read."""
    random = Random(seed)  # noqa: S311 - guards nothing
    await post(ledger, [*told_loosely(random, random_history(seed + 20, 160).posted)])
    whole, read, long, hands = 0, 0, 0, [0, 0]
    async with asked(ledger, OFFICE) as question:
        for life in await units(question):
            every, had = await every_wearing(question, life), await every_hand(question, life)
            for since in moments(random, every, had):
                life.exposure = None
                found = await exposure_since(question, life, since)
                assert lasting_past(since, found.wearings) == lasting_past(since, every), (life.unit, since)
                assert reaching(since, found.hands) == reaching(since, had), (life.unit, since)
                hands[life.entangled] += len(had) - len(found.hands)
                assert len(found.uses) == (len(found.wearings) if life.entangled else 0)
                whole, read = whole + len(every), read + len(found.wearings)
                long += sum(one.until is not None and one.until - one.at > LONGEST_DAY for one in found.wearings)
    assert long > 5
    assert read < whole * 0.95
    assert hands[False] > 10
    assert hands[True] == 0


@pytest.mark.parametrize("hours", [1, 48, 49, 700])
async def test_what_was_said_to_last_is_told_though_the_unit_was_put_on_by_another_since(
    ledger: Ledger, hours: int
) -> None:
    """Be that for a day or a month."""
    ends = datetime.fromisoformat("2026-03-02T08:00:00Z") + timedelta(hours=hours)
    first = tell("worn", "2026-03-02 08:00", wearer="p-1", until=ends.isoformat(), received="2026-03-02 08:00")
    second = tell("worn", "2026-03-02 08:30", wearer="p-2", received="2026-03-02 08:30")
    await post(ledger, named([*FIRM, register("2026-02-20 08:00", received="2026-02-20 08:00"), first, second], 700))
    async with asked(ledger, OFFICE) as question:
        [life] = await units(question)
        found = await exposure_since(question, life, ends)
    assert [one.person for one in lasting_past(ends, found.wearings)] == ["p-1", "p-2"]


@pytest.mark.parametrize(
    ("then", "lasts"),
    [
        (check("2026-03-02 09:00", points=fails("alarm")), False),
        (tell("failed-check", "2026-03-02 09:00", wearer="p-1", points=fails("alarm")), True),
        (tell("failed-in-use", "2026-03-02 09:00", wearer="p-1", signs=["dropped"]), True),
        (tell("failed-check", "2026-03-02 09:00", wearer="p-2", points=fails("alarm")), False),
        (check("2026-03-03", points=fails("alarm")), False),
        (tell("failed-check", "2026-03-03", wearer="p-1", points=fails("alarm")), True),
        (wear("2026-03-02"), False),
    ],
)
async def test_what_was_put_on_last_may_last_though_a_failure_of_the_same_hands_came_after(
    ledger: Ledger, then: Posted, *, lasts: bool
) -> None:
    """A failure shows a moment alone: whoever noticed it may have the unit on still."""
    registered = register("2026-02-20 08:00", received="2026-02-20 08:00")
    await post(ledger, named([*FIRM, registered, wear("2026-03-02 08:00"), then], 700))
    since = datetime.fromisoformat("2026-03-20T08:00:00Z")
    async with asked(ledger, OFFICE) as question:
        [life] = await units(question)
        found = await exposure_since(question, life, since)
        every = await every_wearing(question, life)
    first = [one.known_by for one in lasting_past(since, found.wearings)]
    assert ("worn" in first) is (lasts or then.message["kind"] == "worn")
    assert lasting_past(since, found.wearings) == lasting_past(since, every)


def hood_worn(many: int) -> list[Posted]:
    """Have a unit worn once a day."""
    days = [f"2026-03-{day:02}" for day in range(1, many + 1)]
    worn = [
        tell("worn", f"{day} 08:00", wearer="p-1", until=f"{day}T09:00:00Z", received=f"{day} 10:00") for day in days
    ]
    return named([*FIRM, register("2026-02-20 08:00", received="2026-02-20 08:00"), *worn], 700)


@pytest.fixture
def sent(monkeypatch: pytest.MonkeyPatch) -> list[int]:
    """Count the wearings that come from the database, reading by reading."""
    counts: list[int] = []

    async def noted(
        conn: AsyncConnection, organisation: UUID, asked: Iterable[Since], put_on: Iterable[KnownBy]
    ) -> list[WearingOfUnit]:
        rows = await wearings_since(conn, organisation, asked, put_on)
        counts.append(len(rows))
        return rows

    monkeypatch.setattr(reading, "wearings_since", noted)
    return counts


async def test_of_a_unit_that_was_worn_every_day_the_last_days_are_read(ledger: Ledger, sent: list[int]) -> None:
    """The last of which a person had it on before, and what came since; and nothing where that is remembered."""
    await post(ledger, hood_worn(20))
    async with asked(ledger, OFFICE) as question:
        [life] = await units(question)

        async def since(day: int) -> Exposure:
            moment = datetime.fromisoformat(f"2026-03-{day:02}T08:30:00Z")
            return await exposure_since(question, life, moment)

        assert len((await since(18)).wearings) == 5
        assert len((await since(18)).wearings) == len((await since(20)).wearings) == 5
        assert len((await since(5)).wearings) == 18
        assert len((await since(18)).wearings) == 18
    assert sent == [5, 18]


async def test_of_a_unit_that_changed_hands_every_day_the_last_hands_are_read(
    ledger: Ledger, monkeypatch: pytest.MonkeyPatch
) -> None:
    """From the one that had it two days before on, and of parts none; and all since whoever wore it put it on."""
    days = [f"2026-03-{day:02}" for day in range(1, 21)]
    out = [issue(f"{day} 08:00", received=f"{day} 08:00") for day in days]
    back = [tell("returned", f"{day} 16:00", received=f"{day} 16:00") for day in days]
    worn = tell("worn", "2026-03-09 09:00", wearer="p-1", received="2026-03-09 09:00")
    told = [register("2026-02-20 08:00", received="2026-02-20 08:00"), worn, *out, *back]
    await post(ledger, named([*FIRM, *told], 700))
    read: list[int] = []

    async def noted(conn: AsyncConnection, organisation: UUID, asked: Iterable[Since]) -> list[Told]:
        told = await hands_since(conn, organisation, asked)
        read.extend(len(stays) for stays, _ in told)
        return told

    monkeypatch.setattr(reading, "hands_since", noted)
    async with asked(ledger, OFFICE) as question:
        [life] = await units(question)
        for day in (18, 8, 8, 20):
            await exposure_since(question, life, datetime.fromisoformat(f"2026-03-{day:02}T12:00:00Z"))
    assert [one.position for one in life.parts] == []
    assert read == [14, 15]


async def test_who_wore_a_component_had_it_no_longer_than_what_it_sat_in_though_that_was_handed_out_since(
    ledger: Ledger,
) -> None:
    """It was given back before the filter came in: of what hangs together it is read, too, who had it before that."""
    before, changed = ({"item": "p3", "lot": lot, "condition": "new"} for lot in ("L-1", "L-7"))
    parts = [{"position": "particle-filter", "part": before}]
    told = [
        register("2026-02-20 08:00", "H-1", parts=parts),
        register("2026-02-20 08:00", "C-1", parts=parts, fitted_to="H-1"),
        issue("2026-03-02 08:00", "p-2", "H-1"),
        wear("2026-03-02 09:00", "p-1", "C-1"),
        tell("returned", "2026-03-02 12:00", "H-1"),
        issue("2026-03-03 08:00", "p-3", "H-1"),
        tell("filter-replaced", "2026-04-01 08:00", "C-1", position="particle-filter", in_=changed, reason="schedule"),
    ]
    await post(ledger, named([*FIRM, *told], 700))
    async with asked(ledger, OFFICE) as question:
        meant = Criterion(item="p3", lot="L-7")
        [found] = (await impact(question, [supposed((meant,), question.as_at)], None)).units
    assert [hand.holder.person for hand in found.touched.hands] == ["p-3"]
    assert found.touched.wearers == ()


async def test_of_more_units_than_there_is_room_for_a_part_is_read_again(
    ledger: Ledger, monkeypatch: pytest.MonkeyPatch, sent: list[int]
) -> None:
    """Though they are read some at a time: what is kept of one page drives out no other, nor does another question."""
    tags = [f"H-{nth:02}" for nth in range(12)]
    worn = [wear("2026-03-02 08:00", tag=tag) for tag in tags]
    await post(ledger, named([*FIRM, *(one for tag in tags for one in hood(tag)), *worn], 500))
    async with asked(ledger, OFFICE) as question:
        weight = max(life.weight for life in await units(question)) + 4
    forgetful = msgspec.structs.replace(ledger, memory=Memory())
    monkeypatch.setattr(forgetful.memory, "_lives", Remembered[StoredKin](8 * weight))
    monkeypatch.setattr(lives, "KINS", 2)

    async def read_for(first: int, last: int) -> int:
        """Count the wearings that are read where a recall speaks of some units."""
        sent.clear()
        meant = Criterion(serials=tuple(f"S-{tag}" for tag in tags[first:last]))
        async with asked(forgetful, OFFICE) as question:
            found = await impact(question, [supposed((meant,), question.as_at)], None)
        assert [[one.person for one in unit.touched.wearers] for unit in found.units] == [["p-1"]] * (last - first)
        return sum(sent)

    assert [await read_for(0, 8), await read_for(0, 8)] == [8, 0]
    assert [await read_for(8, 9), await read_for(0, 8)] == [1, 1]
    assert [await read_for(0, 12), await read_for(0, 12)] == [4, 4]
    assert [await read_for(8, 12), await read_for(0, 12)] == [4, 4]
