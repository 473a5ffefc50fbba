from collections.abc import Sequence
from datetime import datetime
from typing import Any
from uuid import UUID

import msgspec
import psycopg
import pytest

from service.domain.standing import FOREVER
from service.store.connecting import connect
from service.store.dump_derived import dump_derived
from service.store.errors import StaleContext
from service.store.generation import Generation, generation
from service.store.kin_write import FindingRow, IntervalRow, KinWrite, MarkRow, StayRow, UnitRow, UseRow
from service.store.kins_depending_on import kins_depending_on
from service.store.kins_of_tags import kins_of_tags
from service.store.kins_touched_after import TouchedKin, kins_touched_after
from service.store.load_kins import LoadedKin, load_kins
from service.store.rewrite import Rewritten, rewrite
from service.store.scope import set_organisation, writing
from service.store.set_generation import set_generation
from service.store.sort_intervals import sort_intervals
from service.store.tables import DERIVED
from service.store.units_of_kins import units_of_kins
from service.store.wipe_derived import wipe_derived
from service.store.write_subjects import write_subjects
from tests.store.making import NOON, Desk, a_kin, a_unit, an_entry, appended, minutes, rows, unit_id, version


async def test_kin_is_loaded_as_it_was_written(desk: Desk) -> None:
    """Version, snapshot and tags of kins that exist come back; the others are left out."""
    [first] = await appended(desk, [an_entry("FX-1")], [a_kin("FX-1", tags=("FX-1", "FX-9"), snapshot=b"state")])
    async with writing(desk.pool, desk.organisation) as conn:
        assert await load_kins(conn, desk.organisation, ["FX-1", "FX-2"]) == {
            "FX-1": LoadedKin(kin="FX-1", version=version(first), snapshot=b"state", tags=["FX-1", "FX-9"])
        }
        assert await kins_of_tags(conn, desk.organisation, ["FX-9", "FX-2"]) == {"FX-9": "FX-1"}


async def test_kins_are_found_by_what_they_asked_for(desk: Desk) -> None:
    """A reference finds the kins whose judgement asked for it, by the order of bytes."""
    await appended(
        desk,
        [an_entry("b"), an_entry("B"), an_entry("a")],
        [a_kin("b"), a_kin("B"), a_kin("a", dependencies=("site:other",))],
    )
    async with writing(desk.pool, desk.organisation) as conn:
        assert await kins_depending_on(conn, desk.organisation, ["site:harrow-dock", "model:m-1"]) == ["B", "b"]
        assert await kins_depending_on(conn, desk.organisation, ["site:nowhere"]) == []


async def test_dependencies_are_those_of_the_newest_write(desk: Desk) -> None:
    """A write replaces what a kin hangs on, or leaves it as it is."""
    [last] = await appended(desk, [an_entry("FX-1")], [a_kin("FX-1", dependencies=("site:a", "site:b"))])
    [last] = await appended(desk, [an_entry("FX-1")], [a_kin("FX-1", last, dependencies=("site:b", "site:c"))])
    assert await rows(desk, "SELECT ref FROM ledger.dependency ORDER BY ref") == [("site:b",), ("site:c",)]
    [last] = await appended(desk, [an_entry("FX-1")], [a_kin("FX-1", last, dependencies=None)])
    assert await rows(desk, "SELECT ref FROM ledger.dependency ORDER BY ref") == [("site:b",), ("site:c",)]
    await appended(desk, [an_entry("FX-1")], [a_kin("FX-1", last, dependencies=())])
    assert await rows(desk, "SELECT ref FROM ledger.dependency") == []


async def test_units_are_those_of_the_newest_write(desk: Desk) -> None:
    """A unit that a write does not name any more goes, with all that was derived for it."""
    both = (a_unit("FX-1", uses=(use(1),)), a_unit("FX-2", uses=(use(2),)))
    [first] = await appended(desk, [an_entry("FX-1")], [a_kin("FX-1", tags=("FX-1", "FX-2"), units=both)])
    only = (a_unit("FX-2", site="other-site", phase="missing", do_not_use=True, card=b"new"),)
    await appended(desk, [an_entry("FX-1")], [a_kin("FX-1", first, units=only)])
    async with writing(desk.pool, desk.organisation) as conn:
        [unit] = await units_of_kins(conn, desk.organisation, ["FX-1"])
    assert (unit.unit, unit.tag, unit.site, unit.phase, unit.do_not_use, unit.card) == (
        unit_id("FX-2"), "FX-2", "other-site", "missing", True, b"new",
    )  # fmt: skip
    assert await rows(desk, "SELECT unit FROM ledger.standing_interval") == [(unit_id("FX-2"),)]
    assert await rows(desk, "SELECT * FROM ledger.use_made") == []


def span(since: int, until: int | None, **changes: Any) -> IntervalRow:
    """Make an interval between minutes after noon."""
    [made] = a_unit("FX-1").intervals
    end = None if until is None else minutes(until)
    return msgspec.structs.replace(made, since=minutes(since), until=end, **changes)


def use(minute: int, *, covered: bool = True) -> UseRow:
    """Make a use at a minute after noon."""
    ref = UUID(int=minute if covered else 100 + minute)
    return UseRow(at=minutes(minute), site="harrow-dock", lapse=None if covered else minutes(minute), ref=ref)


def finding(minute: int) -> FindingRow:
    """Make a finding of an event so many minutes after noon."""
    event = UUID(int=minute)
    report, reasons = "conflicting-history", "worn-while-missing"
    return FindingRow(at=minutes(minute), report=report, event=event, site="dock", person="p-1", reasons=reasons)


def stay(since: int, until: int | None, told: bytes = b"told", position: str = "tube") -> StayRow:
    """Make a stay of a part between minutes after noon."""
    end = None if until is None else minutes(until)
    return StayRow(position=position, since=minutes(since), until=end, item="tube-9", lot="T0225", told=told)


async def written(desk: Desk, unit: UnitRow) -> tuple[list[Any], list[Any]]:
    """Write a unit, new or again, and give all of its intervals and uses, in minutes after noon."""
    async with writing(desk.pool, desk.organisation) as conn:
        loaded = await load_kins(conn, desk.organisation, ["FX-1"])
    kin = a_kin("FX-1", units=(unit,), expected=loaded["FX-1"].version if loaded else 0)
    await appended(desk, [an_entry("FX-1")], [kin])
    intervals = await rows(
        desk, "SELECT since, nullif(until, 'infinity'), standing FROM ledger.standing_interval ORDER BY since"
    )
    uses = await rows(desk, "SELECT at, ref, lapse IS NULL FROM ledger.use_made ORDER BY at, ref")
    return (
        [(after_noon(since), after_noon(until), standing) for since, until, standing in intervals],
        [(after_noon(at), ref.int, covered) for at, ref, covered in uses],
    )


def after_noon(moment: datetime | None) -> int | None:
    """Give whole minutes after noon."""
    return None if moment is None else int((moment - NOON).total_seconds() // 60)


async def test_intervals_are_rewritten_from_a_moment_on(desk: Desk) -> None:
    """From `rewrite_from` on intervals are those given, and one that reaches over it is cut; None writes all anew."""
    first = a_unit("FX-1", intervals=(span(0, 10), span(10, 20, standing="overdue"), span(20, None)))
    found, _ = await written(desk, first)
    assert found == [(0, 10, "in-date"), (10, 20, "overdue"), (20, None, "in-date")]

    later = a_unit("FX-1", rewrite_from=minutes(30), intervals=(span(30, 40, standing="overdue"), span(40, None)))
    found, _ = await written(desk, later)
    assert found == [
        (0, 10, "in-date"),
        (10, 20, "overdue"),
        (20, 30, "in-date"),
        (30, 40, "overdue"),
        (40, None, "in-date"),
    ]

    earlier = a_unit("FX-1", rewrite_from=minutes(10), intervals=(span(10, None, standing="due-soon"),))
    found, _ = await written(desk, earlier)
    assert found == [(0, 10, "in-date"), (10, None, "due-soon")]

    anew = a_unit("FX-1", intervals=(span(-5, None),))
    found, _ = await written(desk, anew)
    assert found == [(-5, None, "in-date")]


async def test_uses_are_rewritten_from_a_moment_of_their_own(desk: Desk) -> None:
    """From `uses_from` on uses are those given; two that begin together are told apart."""
    _, found = await written(desk, a_unit("FX-1", uses=(use(1), use(2), use(2, covered=False))))
    assert found == [(1, 1, True), (2, 2, True), (2, 102, False)]
    later = a_unit("FX-1", uses_from=minutes(2), uses=(use(2, covered=False), use(3)))
    _, found = await written(desk, later)
    assert found == [(1, 1, True), (2, 102, False), (3, 3, True)]
    _, found = await written(desk, a_unit("FX-1"))
    assert found == []


async def test_findings_are_rewritten_from_a_moment_of_their_own(desk: Desk) -> None:
    """From `findings_from` on findings are those given; the far future only adds, None writes all anew."""

    async def kept(*at: int, since: datetime | None) -> list[int | None]:
        await written(desk, a_unit("FX-1", findings=tuple(finding(minute) for minute in at), findings_from=since))
        return [after_noon(found) for (found,) in await rows(desk, "SELECT at FROM ledger.finding ORDER BY at")]

    assert await kept(1, 2, 3, since=None) == [1, 2, 3]
    assert await kept(4, since=FOREVER) == [1, 2, 3, 4]
    assert await kept(3, since=minutes(2)) == [1, 3]
    assert await kept(2, since=None) == [2]


async def test_interval_that_ends_before_it_begins_is_refused(desk: Desk) -> None:
    """The database holds no interval of no length."""
    with pytest.raises(psycopg.errors.CheckViolation) as refused:
        await written(desk, a_unit("FX-1", intervals=(span(10, 10),)))
    assert refused.value.diag.constraint_name == "standing_interval_forward"


async def test_touched_kins_are_those_with_later_events(desk: Desk) -> None:
    """Past a number, the kins with events are known with the earliest place one takes, and whether one is a voiding."""
    [first, _] = await appended(desk, [an_entry("FX-1"), an_entry("FX-2")], [a_kin("FX-1"), a_kin("FX-2")])
    later = an_entry("FX-1", subjects=(("asset:FX-1", minutes(-30)), ("person:p-1", minutes(-60))))
    voiding = an_entry("FX-2", kind="voided", subjects=(("asset:FX-2", minutes(3)),))
    await appended(desk, [later, an_entry("FX-1")], [a_kin("FX-1", first)])
    await appended(desk, [voiding], [a_kin("FX-2", first)])
    async with writing(desk.pool, desk.organisation) as conn:
        assert await kins_touched_after(conn, desk.organisation, 2) == [
            TouchedKin(kin="FX-1", earliest=minutes(-30), voided=False),
            TouchedKin(kin="FX-2", earliest=minutes(3), voided=True),
        ]
        assert await kins_touched_after(conn, desk.organisation, 4) == [
            TouchedKin(kin="FX-2", earliest=minutes(3), voided=True)
        ]
        assert await kins_touched_after(conn, desk.organisation, 5) == []


async def rewritten(desk: Desk, kins: Sequence[KinWrite], context_seq: int = 0) -> list[Rewritten]:
    """Write kins again in a transaction of its own."""
    async with writing(desk.pool, desk.organisation) as conn:
        return await rewrite(conn, desk.organisation, context_seq=context_seq, kins=kins)


async def test_kins_are_rewritten_without_an_event(desk: Desk) -> None:
    """A rewrite writes kins at their expected versions, leaves the others alone and says which."""
    [first, _] = await appended(desk, [an_entry("FX-1"), an_entry("FX-2")], [a_kin("FX-1"), a_kin("FX-2")])
    [other] = await appended(desk, [an_entry()])
    found = await rewritten(desk, [a_kin("FX-1", first, snapshot=b"again"), a_kin("FX-2", other), a_kin("FX-3")])
    assert [(row.kin, row.written) for row in found] == [("FX-1", True), ("FX-2", False), ("FX-3", True)]
    assert await rows(desk, "SELECT kin, version, snapshot FROM ledger.kin ORDER BY kin") == [
        ("FX-1", found[0].version, b"again"),
        ("FX-2", version(first), b"snapshot"),
        ("FX-3", found[0].version, b"snapshot"),
    ]
    assert found[1] == Rewritten(kin="FX-2", written=False, version=None)
    assert await rows(desk, "SELECT last_seq FROM ledger.head") == [(3,)]


async def test_rewritten_kin_has_another_version(desk: Desk) -> None:
    """Who decided before a rewrite decides again, though no event was recorded in between."""
    [first] = await appended(desk, [an_entry("FX-1")], [a_kin("FX-1")])
    await rewritten(desk, [a_kin("FX-1", first, snapshot=b"again")])
    [outcome] = await appended(desk, [an_entry("FX-1")], [a_kin("FX-1", first, snapshot=b"without it")])
    assert outcome.outcome == "stale"
    assert await rows(desk, "SELECT snapshot FROM ledger.kin") == [(b"again",)]


async def test_rewrite_by_old_rules_is_refused(desk: Desk) -> None:
    """A rewrite that did not know the newest context event writes nothing."""
    await appended(desk, [an_entry(context=True)])
    with pytest.raises(StaleContext) as refused:
        await rewritten(desk, [a_kin("FX-1")])
    assert refused.value.reason == "context"
    assert await rows(desk, "SELECT * FROM ledger.kin") == []


async def test_generation_follows_the_context(desk: Desk) -> None:
    """A generation says what derived rows were judged with; a context event moves its rules on."""
    first = Generation(generation=1, rules_to=0, code_version="1", tzdata_version="2026.6")
    async with writing(desk.pool, desk.organisation) as conn:
        assert await generation(conn, desk.organisation) is None
        await set_generation(conn, desk.organisation, first)
        assert await generation(conn, desk.organisation) == first
    await appended(desk, [an_entry(), an_entry(context=True), an_entry()])
    async with writing(desk.pool, desk.organisation) as conn:
        assert await generation(conn, desk.organisation) == msgspec.structs.replace(first, rules_to=2)


async def everything(desk: Desk) -> dict[str, list[tuple[str, str]]]:
    """Give the dumps of all derived tables."""
    async with writing(desk.pool, desk.organisation) as conn:
        return {table: [row async for row in dump_derived(conn, desk.organisation, table)] for table in DERIVED}


async def test_rebuild_equals_what_was_live(desk: Desk) -> None:
    """Thrown away and written again in another order and other portions, every derived row is as it was."""
    units = {
        tag: a_unit(
            tag,
            uses=(use(1), use(1, covered=False)),
            findings=(finding(1),),
            stays=(stay(1, None),),
            intervals=(span(0, 10), span(10, None)),
        )
        for tag in ("FX-1", "FX-2")
    }
    marked = (MarkRow(at=minutes(7), state=b"left"),)
    for tag, unit in units.items():
        await appended(desk, [an_entry(tag)], [a_kin(tag, units=(unit,), marks=marked)])
    async with writing(desk.pool, desk.organisation) as conn:
        one = Generation(generation=1, rules_to=0, code_version="1", tzdata_version="2026.6")
        await set_generation(conn, desk.organisation, one)
    live = await everything(desk)
    assert {table: len(found) for table, found in live.items()} == {
        "event_subject": 2, "kinship": 2, "kin": 2, "unit": 2, "standing_interval": 4, "use_made": 4, "finding": 2,
        "stay": 2, "dependency": 4, "generation": 1, "fold_mark": 2,
    }  # fmt: skip

    async with await connect(desk.database.owner_url) as owner:
        async with owner.transaction():
            await set_organisation(owner, desk.organisation)
            await wipe_derived(owner, desk.organisation)
        assert {table: len(found) for table, found in (await everything(desk)).items()} == dict.fromkeys(DERIVED, 0)
        async with owner.transaction():
            await set_organisation(owner, desk.organisation)
            subjects = {2: [("asset:FX-2", NOON)], 1: [("asset:FX-1", NOON)]}
            await write_subjects(owner, desk.organisation, subjects)
            kins = [a_kin(tag, units=(units[tag],), marks=marked) for tag in ("FX-2", "FX-1")]
            await rewrite(owner, desk.organisation, context_seq=0, kins=kins)
            await set_generation(owner, desk.organisation, one)
            await sort_intervals(owner, desk.organisation)
    assert await everything(desk) == live
    assert await rows(desk, "SELECT since FROM ledger.standing_interval ORDER BY ctid") == [
        (minutes(0),), (minutes(0),), (minutes(10),), (minutes(10),),
    ]  # fmt: skip


async def test_wiping_leaves_other_organisations_alone(desk: Desk) -> None:
    """Only the transaction's organisation loses what is derived, and keeps its log."""
    await appended(desk, [an_entry("FX-1")], [a_kin("FX-1")])
    async with await connect(desk.database.owner_url) as owner:
        async with owner.transaction(force_rollback=True):
            await set_organisation(owner, desk.foreign)
            with pytest.raises(psycopg.errors.InsufficientPrivilege):
                await wipe_derived(owner, desk.organisation)
        async with owner.transaction():
            await set_organisation(owner, desk.foreign)
            await wipe_derived(owner, desk.foreign)
    assert await rows(desk, "SELECT kin FROM ledger.kin") == [("FX-1",)]
    assert await rows(desk, "SELECT count(*) FROM ledger.event") == [(1,)]


async def test_what_begins_later_stays_as_it_is(desk: Desk) -> None:
    """Between two moments intervals, uses, findings and marks are those given; what begins at the second stays."""
    unit = a_unit(
        "FX-1",
        intervals=(span(0, 10), span(10, 20, standing="overdue"), span(20, None)),
        uses=(use(1), use(12), use(20)),
        findings=(finding(1), finding(12), finding(20)),
    )
    marks = tuple(MarkRow(at=minutes(at), state=b"old") for at in (1, 12, 20))
    [first] = await appended(desk, [an_entry("FX-1")], [a_kin("FX-1", units=(unit,), marks=marks)])
    some = {"rewrite_from": minutes(10), "uses_from": minutes(10), "findings_from": minutes(10)}
    ends = {"rewrite_until": minutes(20), "uses_until": minutes(20), "findings_until": minutes(20)}
    again = a_unit("FX-1", **some, **ends, intervals=(span(10, 20),), uses=(use(13),), findings=(finding(13),))
    kin = a_kin(
        "FX-1",
        first,
        units=(again,),
        marks=(MarkRow(at=minutes(13), state=b"new"),),
        marks_from=minutes(10),
        marks_until=minutes(20),
    )
    await appended(desk, [an_entry("FX-1")], [kin])

    intervals = await rows(desk, "SELECT since, standing FROM ledger.standing_interval ORDER BY since")
    uses = await rows(desk, "SELECT at FROM ledger.use_made ORDER BY at")
    findings = await rows(desk, "SELECT at FROM ledger.finding ORDER BY at")
    marked = await rows(desk, "SELECT at, state FROM ledger.fold_mark ORDER BY at")
    assert [(after_noon(since), standing) for since, standing in intervals] == [
        (0, "in-date"),
        (10, "in-date"),
        (20, "in-date"),
    ]
    assert [after_noon(at) for (at,) in uses] == [1, 13, 20]
    assert [after_noon(at) for (at,) in findings] == [1, 13, 20]
    assert [(after_noon(at), state) for at, state in marked] == [(1, b"old"), (13, b"new"), (20, b"old")]


async def test_stays_that_go_on_end_as_they_are_told(desk: Desk) -> None:
    """Of a unit that is folded on, stays are added, and one that was open ends; all others stay."""
    before = a_unit("FX-1", stays=(stay(0, 5), stay(5, None), stay(1, None, position="")))
    [first] = await appended(desk, [an_entry("FX-1")], [a_kin("FX-1", units=(before,))])
    after = a_unit("FX-1", stays_from=FOREVER, stays=(stay(5, 9), stay(9, None)))
    [second] = await appended(desk, [an_entry("FX-1")], [a_kin("FX-1", first, units=(after,))])
    assert await stays(desk) == [("", 1, None), ("tube", 0, 5), ("tube", 5, 9), ("tube", 9, None)]

    anew = a_unit("FX-1", stays=(stay(2, None),))
    await appended(desk, [an_entry("FX-1")], [a_kin("FX-1", second, units=(anew,))])
    assert await stays(desk) == [("tube", 2, None)]


async def test_stays_between_two_moments_are_told_anew(desk: Desk) -> None:
    """Those that began after the first are those given, but for those that last beyond the second."""
    before = a_unit("FX-1", stays=(stay(0, 5), stay(5, 8), stay(8, 12), stay(12, None)))
    [first] = await appended(desk, [an_entry("FX-1")], [a_kin("FX-1", units=(before,))])
    after = a_unit("FX-1", stays_from=minutes(2), stays_until=minutes(10), stays=(stay(0, 6), stay(6, 8)))
    await appended(desk, [an_entry("FX-1")], [a_kin("FX-1", first, units=(after,))])
    assert await stays(desk) == [("tube", 0, 6), ("tube", 6, 8), ("tube", 8, 12), ("tube", 12, None)]


async def stays(desk: Desk) -> list[tuple[str, int | None, int | None]]:
    """Give all stays, in minutes after noon."""
    found = await rows(desk, "SELECT position, since, nullif(until, 'infinity') FROM ledger.stay ORDER BY 1, 2")
    return [(position, after_noon(since), after_noon(until)) for position, since, until in found]
