from typing import Any

from tests.oracle.firm import FIRM, PLAIN, check, examine, issue, register, tell, wear
from tests.oracle.posting import Posted, log, moment
from tests.oracle.record import Record
from tests.oracle.span import intervals
from tests.oracle.summary import summary, uses

YEAR = [register(), examine("2026-01-05 08:30"), issue("2026-01-06 09:00"), tell("returned", "2026-02-07 10:00")]
WEEK = [
    register(),
    examine("2026-02-27 10:00"),
    check("2026-03-02 06:50"),
    issue("2026-03-02 07:00"),
    check("2026-03-03 07:00"),
    tell("returned", "2026-03-04 08:00"),
]


def records(*posted: Posted, base: list[Posted] = FIRM) -> list[Record]:
    """Record messages after the set-up of the firm."""
    return log([*base, *posted])


def site(found: dict[str, Any], name: str) -> dict[str, Any]:
    """Find a site in a summary."""
    return next(one for one in found["sites"] if one["site"] == name)


def test_intervals_follow_a_unit_through_its_life() -> None:
    """A unit goes from store to in date, due soon, overdue and back to store, each interval half-open (design 11)."""
    told = intervals(records(*YEAR), [], "A-1", moment("2026-01-01 00:00"), moment("2026-02-10 00:00"))
    assert told == [
        (moment("2026-01-05 08:00"), moment("2026-01-06 09:00"), "out-of-scope", False, "in-store", False),
        (moment("2026-01-06 09:00"), moment("2026-01-30 00:00"), "in-date", False, "issued", True),
        (moment("2026-01-30 00:00"), moment("2026-02-06 00:00"), "due-soon", False, "issued", True),
        (moment("2026-02-06 00:00"), moment("2026-02-07 10:00"), "overdue", True, "issued", True),
        (moment("2026-02-07 10:00"), moment("2026-02-10 00:00"), "out-of-scope", False, "in-store", False),
    ]


def test_intervals_are_cut_at_the_period_asked() -> None:
    """The first interval starts, and the last ends, with the period asked."""
    told = intervals(records(*YEAR), [], "A-1", moment("2026-01-10 00:00"), moment("2026-01-11 00:00"))
    assert told == [(moment("2026-01-10 00:00"), moment("2026-01-11 00:00"), "in-date", False, "issued", True)]


def test_a_breach_has_its_own_interval() -> None:
    """Used without a check on Tuesday at midnight, checked at seven (ruling 17)."""
    told = intervals(records(*WEEK, base=PLAIN), [], "A-1", moment("2026-03-02 12:00"), moment("2026-03-03 12:00"))
    assert [(one[0], one[2]) for one in told] == [
        (moment("2026-03-02 12:00"), "in-date"),
        (moment("2026-03-03 00:00"), "overdue"),
        (moment("2026-03-03 07:00"), "in-date"),
    ]


def test_uses_are_counted_once_a_working_day() -> None:
    """Monday's use was covered, Tuesday's and Wednesday's at midnight were not (ruling 18)."""
    found = uses(records(*WEEK, base=PLAIN), [], moment("2026-03-01 00:00"), moment("2026-03-06 00:00"))
    assert found == {"covered": 1, "of": 3}


def test_uses_are_counted_as_worn_where_policy_says_so() -> None:
    """Where only what was worn counts, each wearing is a use (design 4)."""
    worn = [wear("2026-03-02 08:00"), wear("2026-03-02 20:00")]
    found = uses(records(*WEEK, *worn), [], moment("2026-03-01 00:00"), moment("2026-03-06 00:00"))
    assert found == {"covered": 1, "of": 2}


def test_each_shift_is_a_use_of_its_own() -> None:
    """In issue from Monday five o'clock to Tuesday noon: the early and the night shift, then Tuesday's early one."""
    told = [
        register(site="works"),
        examine("2026-02-27 10:00"),
        issue("2026-03-02 05:00"),
        check("2026-03-02 05:55"),
        check("2026-03-02 21:55"),
        tell("returned", "2026-03-03 12:00"),
    ]
    found = uses(records(*told, base=PLAIN), [], moment("2026-03-02 00:00"), moment("2026-03-04 00:00"))
    assert found == {"covered": 3, "of": 3}


def test_unit_days_are_whole_days_of_the_month() -> None:
    """On Tuesday noon the month has two unit-days: Monday was compliant throughout, Tuesday was not (ruling 15)."""
    total = summary(records(*WEEK, base=PLAIN), [], moment("2026-03-03 12:00"))["total"]
    assert total["unit_days"] == {"compliant": 1, "of": 2}
    assert total["uses"] == {"covered": 1, "of": 2}
    assert (total["in_scope"], total["compliant"], total["rate"]) == (1, 1, 1.0)


def test_rates_are_cut_never_rounded_up() -> None:
    """Two of three units compliant make 0.6666 (ruling 16)."""
    told = [
        one
        for tag in ("A-1", "A-2", "A-3")
        for one in (register(tag=tag), examine("2026-02-27 10:00", tag), issue("2026-03-02 07:00", tag=tag))
    ]
    total = summary(records(*told, wear("2026-03-02 08:00", tag="A-3")), [], moment("2026-03-02 09:00"))["total"]
    assert total["rate"] == 0.6666
    assert total["by_rule"]["pre-use-check"] == {"overdue": 1}


def test_nothing_in_scope_has_no_rate() -> None:
    """A rate over nothing is null (design 4)."""
    total = summary(records(register()), [], moment("2026-03-02 09:00"))["total"]
    assert (total["units"], total["in_scope"], total["rate"]) == (1, 0, None)


def test_the_month_is_the_sites_own() -> None:
    """At 23:30 of 28 February in Chicago the month is still February; half an hour later it is March (ruling 15)."""
    log_ = records(register(site="mesa"), issue("2026-02-27 18:00"), base=PLAIN)
    before = site(summary(log_, [], moment("2026-03-01 05:30")), "mesa")
    after = site(summary(log_, [], moment("2026-03-01 06:00")), "mesa")
    assert (before["uses"], before["unit_days"]) == ({"covered": 0, "of": 1}, {"compliant": 0, "of": 2})
    assert (after["uses"], after["unit_days"]) == ({"covered": 0, "of": 0}, {"compliant": 0, "of": 1})


def test_unit_days_stay_with_the_site_they_were_spent_at() -> None:
    """Two days in issue at the dock and one at the works count where they were (ruling 12)."""
    told = [
        register(),
        examine("2026-02-27 10:00"),
        issue("2026-03-02 07:00"),
        tell("moved", "2026-03-03 08:00", to_site="works"),
        tell("received", "2026-03-05 08:00", site="works"),
        issue("2026-03-05 09:00", site="works"),
    ]
    found = summary(records(*told), [], moment("2026-03-05 12:00"))
    assert site(found, "dock")["unit_days"] == {"compliant": 2, "of": 2}
    assert site(found, "works")["unit_days"] == {"compliant": 1, "of": 1}
    assert (site(found, "dock")["units"], site(found, "works")["units"]) == (0, 1)


def test_a_moved_unit_counts_beside_the_rate_of_its_old_site() -> None:
    """In transit it is a unit of the old site, out of its rate (ruling 12)."""
    told = [register(), issue("2026-03-02 07:00"), tell("moved", "2026-03-03 08:00", to_site="works")]
    dock = site(summary(records(*told), [], moment("2026-03-04 12:00")), "dock")
    assert (dock["units"], dock["in_scope"], dock["by_phase"]["in-transit"]) == (1, 0, 1)


def test_retired_units_and_components_are_no_units() -> None:
    """Retired units and parts with tags of their own are left out of units (ruling 51, design 11)."""
    told = [
        register(),
        register(tag="A-2"),
        register(tag="B-1", model="pack", fitted_to="A-1"),
        tell("retired", "2026-03-01 08:00", "A-2", reason="obsolete"),
    ]
    assert summary(records(*told), [], moment("2026-03-02 09:00"))["total"]["units"] == 1


def test_later_than_known_is_a_projection() -> None:
    """A moment later than what is known is a projection, and says so (design 3.9)."""
    log_ = records(*YEAR)
    known = log_[-2].recorded_at
    found = summary(log_, [], moment("2026-02-08 00:00"), known)
    assert found["projection"]
    assert found["judged_to"] == log_[-2].seq
    assert found["total"]["by_standing"]["overdue"] == 1
