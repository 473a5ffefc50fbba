from datetime import date
from typing import Any

import pytest
from msgspec.structs import replace

from service.domain.holder import Holder
from service.domain.part import Part
from service.domain.scene import Scene
from service.domain.standing import FOREVER
from service.domain.unit import Breach, Counted, Cover, Evidence, Fitted, Unit, Wearing
from service.domain.wearing import (
    Use,
    breach,
    close_function_check,
    close_uses,
    counts_working_days,
    covered,
    longer,
    named,
    pass_time,
    put_on,
)
from service.domain.world import World
from tests.domain.naming import use_ref
from tests.domain.units import DAY, at, event, unit, world
from tests.oracle.firm import policy
from tests.oracle.posting import moment

WORLD = world()
WORN = world(policy("pre-use-check", {"count": "worn"}))
COVER = Cover(event(1), "p-1", at(0), at(12))
P1, CREW = Holder(person="p-1"), Holder(crew="crew-1")


def pass_over(told: Unit, since: float, until: float | None, there: World = WORLD) -> tuple[Unit, tuple[Use, ...]]:
    """Let time pass, in hours from noon of Monday; None has no end."""
    after, uses = pass_time(told, Scene(at(since), FOREVER if until is None else at(until), there, told))
    return after, tuple(uses)


def midnight(day: int) -> Any:
    """Give the start of a day of March at the dock."""
    return moment(f"2026-03-0{day} 00:00")


@pytest.mark.parametrize(
    ("person", "hours", "expected"),
    [("p-1", 0, True), ("p-1", 11.99, True), ("p-1", 12, False), ("p-2", 1, False), (None, 1, True), (None, 12, False)],
)
def test_a_check_covers_its_wearer_up_to_its_end(person: str | None, hours: float, expected: bool) -> None:
    """For the wearer it was done for, and for somebody not known; its end does not belong to it."""
    assert covered(unit(cover=COVER), person, at(hours)) is expected


def test_nothing_covers_without_a_check_or_while_it_is_paused() -> None:
    """Without a cover, and after a battery swap, nothing is covered."""
    assert not covered(unit(), "p-1", at(0))
    assert not covered(unit(cover=replace(COVER, paused=True)), "p-1", at(0))


def test_the_longer_cover_of_one_wearer_stays() -> None:
    """A newer check takes nothing back of what an older one granted, but another wearer's, or a paused one's."""
    short = Cover(event(2), "p-1", at(1), at(9))
    assert longer(COVER, short, restored=False) == COVER
    assert longer(None, short, restored=False) == short
    assert longer(replace(COVER, until=at(9)), short, restored=False) == short
    assert longer(replace(COVER, wearer="p-2"), short, restored=True) == short
    assert longer(replace(COVER, paused=True), short, restored=False) == short
    assert longer(replace(COVER, paused=True), short, restored=True) == COVER


def test_another_wearer_ends_the_cover_and_must_find_the_unit_cleaned() -> None:
    """Who puts it on is its last wearer, and soils it."""
    told = put_on(unit(cover=COVER, soiled_by="p-1"), Wearing("p-2", at(2), event(3)), between_wearers=True)
    assert (told.cover, told.soiled_by) == (None, "p-2")
    assert told.last_wearer == Wearing("p-2", at(2), event(3))
    assert told.cleaning_owed == Evidence(at(2), event(3))


def test_the_same_wearer_keeps_the_cover_and_owes_nothing() -> None:
    """So does the first wearer of a clean unit."""
    told = put_on(unit(cover=COVER, soiled_by="p-1"), Wearing("p-1", at(2), event(3)), between_wearers=True)
    assert (told.cover, told.cleaning_owed) == (COVER, None)
    assert put_on(unit(), Wearing("p-1", at(2), event(3)), between_wearers=True).cleaning_owed is None


def test_where_no_rule_asks_for_it_no_cleaning_is_owed_between_wearers() -> None:
    """What was owed before stays owed, from when it was."""
    told = put_on(unit(soiled_by="p-1"), Wearing("p-2", at(2), event(3)), between_wearers=False)
    assert told.cleaning_owed is None
    owed = unit(soiled_by="p-1", cleaning_owed=Evidence(at(0), event(9)))
    assert put_on(owed, Wearing("p-2", at(2), event(3)), between_wearers=True).cleaning_owed == Evidence(
        at(0), event(9)
    )


def test_a_breach_opens_once_for_a_person_and_a_reason() -> None:
    """A second one of its kind changes nothing, unless it began before."""
    first = Breach(at(1), "p-1", "used-without-check", event(1))
    told = breach(unit(), first)
    assert told.breaches == (first,)
    assert breach(told, replace(first, since=at(2))).breaches == (first,)
    assert breach(told, replace(first, since=at(1))).breaches == (first,)
    earlier = replace(first, since=at(0))
    assert breach(told, earlier).breaches == (first, earlier)
    assert len(breach(told, replace(first, person="p-2")).breaches) == 2
    assert len(breach(told, replace(first, reason="function-check-owed")).breaches) == 2


def test_a_check_closes_the_uses_of_its_wearer_and_of_nobody_known() -> None:
    """Not those of another, nor the function check; a check that names nobody closes none (R17, R48)."""
    mine, crews, others, owed = (
        Breach(at(1), person, reason, None)
        for person, reason in (
            ("p-1", "used-without-check"),
            (None, "used-without-check"),
            ("p-2", "used-without-check"),
            (None, "function-check-owed"),
        )
    )
    told = unit(breaches=(mine, crews, others, owed))
    assert close_uses(told, "p-1").breaches == (others, owed)
    assert close_uses(told, None).breaches == told.breaches
    assert close_function_check(told).breaches == (mine, crews, others)


@pytest.mark.parametrize(
    ("fields", "expected"),
    [
        ({}, True),
        ({"use": "occasional"}, True),
        ({"use": "emergency"}, False),
        ({"where": "stationed"}, False),
        ({"fitted_to": "A-2"}, False),
        ({"missing": True}, False),
    ],
)
def test_working_days_count_for_units_in_issue_for_routine_or_occasional_use(
    fields: dict[str, Any], expected: bool
) -> None:
    """Not for stationed ones, parts of others, or where what was worn counts (R18)."""
    told = unit(**{"where": "issued"} | fields)
    assert counts_working_days(told, WORLD.terms(told, at(0)).pre_use) is expected
    assert not counts_working_days(told, WORN.terms(told, at(0)).pre_use)


def test_each_working_day_in_issue_is_a_use() -> None:
    """From Monday noon to Wednesday noon: Monday's at noon, covered, Tuesday's and Wednesday's not."""
    told = unit(where="issued", holder=P1, cover=COVER)
    after, uses = pass_over(told, 0, 48)
    assert uses == (
        Use(at(0), "dock", None, use_ref(told.unit, "dock/2026-03-02/"), "p-1"),
        Use(midnight(3), "dock", midnight(3), use_ref(told.unit, "dock/2026-03-03/"), "p-1"),
        Use(midnight(4), "dock", midnight(4), use_ref(told.unit, "dock/2026-03-04/"), "p-1"),
    )
    assert after.breaches == (Breach(midnight(3), "p-1", "used-without-check", None),)
    assert after.uses == 3


def test_a_use_is_counted_once_a_day_and_shift() -> None:
    """What was counted is not counted again; shifts over for two days are forgotten."""
    after, _ = pass_over(unit(where="issued", holder=P1), 0, 1)
    assert after.counted == (Counted("dock", date(2026, 3, 2), "", midnight(3)),)
    assert pass_over(after, 1, 2)[1] == ()
    later, uses = pass_over(after, 24 * 4, 24 * 4 + 1)
    assert [use.at for use in uses] == [at(24 * 4)]
    assert [old.day for old in later.counted] == [date(2026, 3, 6)]
    sooner, _ = pass_over(after, 24, 25)
    assert [old.day for old in sooner.counted] == [date(2026, 3, 2), date(2026, 3, 3)]


def test_a_crews_use_is_covered_by_any_check() -> None:
    """With a crew the wearer is not known."""
    _, uses = pass_over(unit(where="issued", holder=CREW, cover=COVER), 0, 1)
    assert uses[0].lapse is None
    after, _ = pass_over(unit(where="issued", holder=CREW), 0, 1)
    assert after.breaches[0].person is None


def test_the_first_breach_to_come_is_foreseen() -> None:
    """Of an open-ended time only the first use outside cover opens a breach, and nothing is counted."""
    after, uses = pass_over(unit(where="issued", holder=P1, cover=COVER), 0, None)
    assert uses == ()
    assert after.breaches == (Breach(midnight(3), "p-1", "used-without-check", None),)
    assert after.counted == ()


def test_no_breach_is_foreseen_behind_one_that_is_open() -> None:
    """One that has begun is enough; one of another sort, or still to come, is not."""
    told = unit(where="issued", holder=P1)
    begun = Breach(at(0), "p-2", "used-without-check", None)
    assert pass_over(replace(told, breaches=(begun,)), 0, None)[0].breaches == (begun,)
    owed = replace(begun, reason="function-check-owed")
    assert len(pass_over(replace(told, breaches=(owed,)), 0, None)[0].breaches) == 2
    ahead = replace(begun, since=at(5))
    assert len(pass_over(replace(told, breaches=(ahead,)), 0, None)[0].breaches) == 2


def test_time_does_nothing_to_a_retired_unit() -> None:
    """Nor to one that is not in issue."""
    for told in (unit(where="issued", retired=True, holder=P1), unit()):
        assert pass_over(told, 0, 48) == (told, ())


def test_a_wearing_wears_on_to_its_end() -> None:
    """The parts serve while it goes on, under cover; once it is over it is forgotten."""
    worn = Wearing("p-1", at(0), event(1), at(2), covered=True)
    told = unit(wearings=(worn,), cover=COVER)
    after, _ = pass_over(told, 0, 1)
    assert (after.worn, after.wearings, after.breaches) == (3600 * 10**6, (worn,), ())
    after, _ = pass_over(after, 1, 5)
    assert (after.worn, after.wearings) == (2 * 3600 * 10**6, (worn,))
    assert pass_over(after, 5, 6)[0].wearings == ()
    assert pass_over(replace(told, wearings=(replace(worn, until=None),)), 0, 1)[0].wearings == ()


def test_a_wearing_lapses_where_its_cover_ends() -> None:
    """From the end of cover on it is a breach, and the first lapse is remembered."""
    worn = Wearing("p-1", at(0), event(1), at(20), covered=True)
    after, _ = pass_over(unit(wearings=(worn,), cover=COVER), 0, 20)
    assert after.breaches == (Breach(at(12), "p-1", "used-without-check", event(1)),)
    assert after.wearings == (replace(worn, covered=False, lapse=at(12)),)
    again = replace(after, breaches=(), cover=Cover(event(2), "p-1", at(13), at(15)))
    covered_again, _ = pass_over(again, 13, 14)
    assert covered_again.wearings == (replace(worn, covered=True, lapse=at(12)),)
    lapsed, _ = pass_over(covered_again, 14, 16)
    assert lapsed.breaches == (Breach(at(15), "p-1", "used-without-check", event(1)),)
    assert lapsed.wearings[0].lapse == at(12)


def test_a_wearing_that_ends_as_a_part_is_fitted_does_not_use_it() -> None:
    """At its end it is over."""
    fresh = Fitted(Part(item="p3", condition="new"), at(2), at(2).date(), event(5))
    told = unit(wearings=(Wearing("p-1", at(0), event(1), at(2)),), parts={"particle-filter": fresh})
    assert pass_over(told, 2, 3)[0].parts["particle-filter"].used is None


def test_a_cover_that_ends_with_the_wearing_is_enough() -> None:
    """A cover up to the very end of the wearing lets nothing lapse."""
    worn = Wearing("p-1", at(0), event(1), at(12), covered=True)
    assert pass_over(unit(wearings=(worn,), cover=COVER), 0, 13)[0].breaches == ()


def test_a_wearing_lapses_where_its_cover_was_taken() -> None:
    """If the cover is gone it lapses at once; if it lapsed before, nothing new begins."""
    worn = Wearing("p-1", at(0), event(1), at(9), covered=True)
    after, _ = pass_over(unit(wearings=(worn,)), 2, 3)
    assert after.breaches == (Breach(at(2), "p-1", "used-without-check", event(1)),)
    assert pass_over(replace(after, breaches=()), 3, 4)[0].breaches == ()


def test_a_use_is_covered_before_its_lapse() -> None:
    """Asked about an earlier moment it was covered; its lapse itself comes after what lies before it."""
    use = Use(at(0), "dock", at(3), event(1))
    assert [use.covered_before(at(hours)) for hours in (2, 3, 4)] == [True, True, False]
    assert Use(at(0), "dock", None, event(1)).covered_before(at(0) + 999 * DAY)


def test_a_use_by_the_calendar_keeps_its_name() -> None:
    """Unit, site, day and shift name it, and nothing else does: neither when it begins nor when its shift is over."""
    told = unit(where="issued", holder=P1)
    early = Counted("dock", date(2026, 3, 2), "early", at(14))
    assert named(told, early) == use_ref(told.unit, "dock/2026-03-02/early")
    assert named(told, replace(early, until=at(15))) == named(told, early)
    others = [
        named(replace(told, unit=use_ref(told.unit, "another")), early),
        named(told, replace(early, site="yard")),
        named(told, replace(early, day=date(2026, 3, 3))),
        named(told, replace(early, shift="late")),
    ]
    assert len({named(told, early), *others}) == 5
