"""What the fold finds of single events, and of uses."""

from datetime import datetime
from typing import Any

import pytest

from service.domain.conflict import CODES, Conflict, Contradiction
from service.domain.finding import REPORTS, Finding, joined, words
from service.domain.fold import Story
from service.domain.intervals import Interval
from service.domain.standing import REASONS
from service.domain.uses import against
from tests.domain.units import at, event, told
from tests.oracle.firm import check, examine, issue, register, tell, wear
from tests.oracle.posting import Posted, say


def found(story: Story) -> list[tuple[str, datetime, str, str, tuple[str, ...]]]:
    """Give findings without their events."""
    return [(one.report, one.at, one.site, one.person, one.reasons) for one in story.findings]


def finding(hours: float, number: int, *reasons: str, report: str = "conflicting-history") -> Finding:
    """Make a finding of an event."""
    return Finding(at(hours), report, event(number), "dock", "p-1", reasons)


def on(hours: float) -> str:
    """Give the moment so many hours after noon as messages give it."""
    return at(hours).isoformat()


def test_no_word_stands_for_a_conflict_and_for_a_reason() -> None:
    """Rows of reports mix words of both closed lists; no report is called as a conflict is."""
    assert not CODES.keys() & REASONS.keys()
    assert not CODES.keys() & REPORTS.keys()


def test_conflicts_of_an_event_are_told_in_order_each_with_what_it_names() -> None:
    """By their codes, each followed by its own reasons; no word twice."""
    told_of = [
        Contradiction(event(1), Conflict("not-ready-to-issue", ("missing", "recall"))),
        Contradiction(event(1), Conflict("issued-while-missing", ("missing",))),
    ]
    assert words(told_of) == ("issued-while-missing", "missing", "not-ready-to-issue", "recall")
    assert words([]) == ()


def test_findings_of_one_event_are_joined() -> None:
    """In order of time; those of one report and event are one, with the words of all."""
    every = [
        finding(2, 2, "while-retired"),
        finding(1, 1, "serial-known"),
        finding(1, 1, "before-registration", "serial-known"),
        finding(1, 1, "passed-against-readings", report="passed-against-readings"),
    ]
    assert joined(every) == (
        finding(1, 1, "serial-known", "before-registration"),
        finding(1, 1, "passed-against-readings", report="passed-against-readings"),
        finding(2, 2, "while-retired"),
    )
    assert joined([]) == ()


def test_what_forbids_a_use() -> None:
    """All that the unit is not to be used for, but the want of a check; nothing where it may be used."""

    def interval(*reasons: str, do_not_use: bool = True) -> Interval:
        return Interval(at(0), at(1), "dock", "hood", "issued", in_scope=True, do_not_use=do_not_use, reasons=reasons)

    assert against(interval("expired", "used-without-check", "withdrawal")) == ("expired", "withdrawal")
    assert against(interval("used-without-check")) == ()
    assert against(interval("expired", do_not_use=False)) == ()


@pytest.mark.parametrize(
    ("said", "expected"),
    [
        (check(on(0), airflow_lpm=159.9), True),
        (check(on(0), airflow_lpm=160.0), False),
        (check(on(0), airflow_indicator="below"), True),
        (check(on(0), battery_percent=1), True),
        (check(on(0), points={"airflow": "fail", "alarm": "pass", "battery": "pass"}, airflow_lpm=100), False),
        (tell("failed-check", on(0), points={"airflow": "pass"}, airflow_lpm=100), False),
        (examine(on(0), airflow_lpm=100), True),
        (examine(on(0), airflow_lpm=100, result="pass-after-repair"), True),
        (examine(on(0), airflow_lpm=100, result="fail"), False),
        (examine(on(0), airflow_lpm=500), False),
        (examine(on(0), airflow_lpm=100, points={"airflow": "fail"}), False),
        (tell("failed-in-use", on(0), signs=["burnt"]), False),
    ],
    ids=str,
)
def test_what_passed_against_its_readings(said: Posted, expected: bool) -> None:
    """A check or examination without a failing point or result, whose readings fail, not one that proves nothing."""
    story = told([register(), said])
    reports = [one.report for one in story.findings]
    assert ("passed-against-readings" in reports) is expected
    assert reports.count("passed-against-readings") <= 1


def test_a_finding_says_where_and_by_whom() -> None:
    """The site is that of the event, else the unit's before it; the person is who posted it."""
    story = told(
        [
            register(),
            tell("returned", on(0), by="p-7"),
            tell("returned", on(1), by="p-8", site="works"),
            check(on(2), airflow_lpm=100, by="p-9"),
        ]
    )
    assert found(story) == [
        ("conflicting-history", at(0), "dock", "p-7", ("returned-without-holder",)),
        ("conflicting-history", at(1), "works", "p-8", ("not-received", "returned-without-holder")),
        ("passed-against-readings", at(2), "works", "p-9", ("passed-against-readings",)),
    ]


def test_an_event_before_the_registration_is_found_too() -> None:
    """It is told when the unit begins; a wearing then is no use."""
    story = told([register(), wear("2026-01-04 08:00", "p-4")])
    assert [(one.at.day, one.reasons) for one in story.findings] == [(4, ("before-registration",))]
    assert [use.aside for use in story.uses] == [True]


def test_a_serial_registered_again_is_found() -> None:
    """The later registration is a finding of the unit, whose history goes on."""
    story = told([register(), tell("retired", on(0), reason="worn-out"), register(on(1), tag="A-2", serial="s-a-1")])
    assert [(one.at, one.reasons) for one in story.findings] == [(at(1), ("serial-known",))]


def test_a_voiding_without_effect_is_found_at_the_units_first_site() -> None:
    """Who takes back a check of their own that fails by its readings is a finding of the unit."""
    bad = check(on(0), airflow_lpm=100, label="it", by="p-4")
    void = say("voided", on(1), "p-4", event="@it", reason="wrong", key="desk")
    assert found(told([register(), bad, void])) == [
        ("passed-against-readings", at(0), "dock", "p-4", ("passed-against-readings",)),
        ("conflicting-history", at(1), "dock", "p-4", ("own-adverse-event",)),
    ]


def uses(*said: Posted, **more: Any) -> list[tuple[datetime, bool, bool, str | None, bool, tuple[str, ...]]]:
    """Fold a unit, and give its uses: when, worn, counted, by whom, without cover, and what forbade them."""
    story = told([register(**more), *said])
    every = [use for use in story.uses if not use.aside]
    return [(use.at, use.worn, use.counted, use.person, use.lapse is not None, use.forbidden) for use in every]


def test_a_wearing_beside_the_calendar_is_a_use_that_does_not_count() -> None:
    """Where working days count, what was worn is kept as well, with who wore it; a check covers one of them."""
    told_of = uses(check(on(0)), issue(on(0.1)), wear(on(1)), wear(on(2), "p-7"), tell("returned", on(3)))
    assert [(one[0], *one[1:5]) for one in told_of] == [
        (at(0.1), False, True, "p-1", False),
        (at(1), True, False, "p-1", False),
        (at(2), True, False, "p-7", True),
    ]


def test_what_forbids_a_wearing_is_what_spoke_before_it() -> None:
    """A failure at its very instant comes after it; after that the unit is withdrawn, and retired for good."""
    fails = tell("failed-in-use", on(1), signs=["burnt"])
    gone = tell("retired", on(3), reason="damaged")
    told_of = uses(examine(on(-1)), wear(on(1)), fails, wear(on(2)), gone, wear(on(4), "p-7"))
    assert [(one[0], one[3], one[4], one[5]) for one in told_of] == [
        (at(1), "p-1", True, ()),
        (at(2), "p-1", True, ("withdrawal",)),
        (at(4), "p-7", False, ("retired", "withdrawal")),
    ]
