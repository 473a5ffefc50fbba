from datetime import date
from typing import Any

import pytest
from msgspec.structs import replace

from service.domain.rules import cleaning, pre_use_check, thorough_examination, withdrawal
from service.domain.scene import Scene
from service.domain.standing import FOREVER
from service.domain.unit import Breach, Cause, Cover, Evidence, Unit
from tests.domain.asking import WORLD, Judge, said
from tests.domain.units import NOON, at, dated, event, evidence, unit, world
from tests.oracle.firm import policy
from tests.oracle.posting import moment


def clause(judge: Judge, told: Unit) -> str:
    """Give the clause a rule names."""
    source = judge(told, Scene(NOON, FOREVER, WORLD, told))[0].source
    assert source is not None
    return source.clause


def test_an_examination_is_due_a_month_after_the_last() -> None:
    """Examined on 27 February: due soon seven days before, overdue from the end of 27 March (COSHH 2002 reg 9(3))."""
    assert said(thorough_examination.judge, unit(examined=dated(date(2026, 2, 27), 3))) == [
        (NOON, "in-date", (), [3]),
        (moment("2026-03-21 00:00"), "due-soon", (), [3]),
        (moment("2026-03-28 00:00"), "overdue", ("thorough-examination",), [3]),
    ]


def test_without_an_examination_the_first_issue_is_the_anchor() -> None:
    """A new unit runs from its first issue; what is missing then is evidence (R23)."""
    issued = unit(where="issued", first_issue=dated(date(2026, 2, 27), 4))
    assert said(thorough_examination.judge, issued)[-1] == (
        moment("2026-03-28 00:00"), "overdue", ("no-evidence",), [4],
    )  # fmt: skip
    assert said(thorough_examination.judge, unit()) == [(NOON, "out-of-scope", (), [])]


def test_the_examination_counts_before_the_first_issue() -> None:
    """Whatever the first issue was."""
    told = unit(examined=dated(date(2026, 2, 27), 3), first_issue=dated(date(2026, 1, 5), 4))
    assert said(thorough_examination.judge, told)[0] == (NOON, "in-date", (), [3])
    assert thorough_examination.due_on(told, Scene(NOON, FOREVER, WORLD, told)) == date(2026, 3, 27)


def test_where_a_new_unit_is_to_be_examined_first_nothing_else_will_do() -> None:
    """Policy `acceptance`: overdue, without evidence, until it is examined."""
    strict = world(policy("acceptance", {"examination": True}))
    issued = unit(where="issued", first_issue=dated(date(2026, 2, 27), 4))
    assert said(thorough_examination.judge, issued, strict) == [(NOON, "overdue", ("no-evidence",), [])]
    assert thorough_examination.due_on(issued, Scene(NOON, FOREVER, strict, issued)) is None
    examined = replace(issued, examined=dated(date(2026, 2, 27), 3))
    assert said(thorough_examination.judge, examined, strict)[0] == (NOON, "in-date", (), [3])


@pytest.mark.parametrize(
    ("fields", "due"),
    [
        ({"site": "mesa"}, None),
        ({"site": "mesa", "where": "stationed"}, date(2026, 3, 27)),
        ({"site": "mesa", "use": "emergency"}, date(2026, 3, 27)),
        ({"use": "occasional"}, date(2026, 5, 27)),
        ({"use": "occasional", "where": "stationed"}, date(2026, 3, 27)),
        ({"site": "nowhere"}, None),
    ],
)
def test_the_interval_goes_by_jurisdiction_and_use(fields: dict[str, Any], due: date | None) -> None:
    """In uk monthly, three-monthly if occasional; in us monthly for emergencies, else never; nowhere no duty."""
    told = unit(examined=dated(date(2026, 2, 27)), **fields)
    assert thorough_examination.due_on(told, Scene(NOON, FOREVER, WORLD, told)) == due
    standing = said(thorough_examination.judge, told)[0][1]
    assert standing == ("out-of-scope" if due is None else "in-date")


def test_without_a_breach_the_check_is_in_date() -> None:
    """It rests on the cover, if there is one."""
    cover = Cover(event(2), "p-1", at(0), at(12))
    assert said(pre_use_check.judge, unit()) == [(NOON, "in-date", (), [])]
    assert said(pre_use_check.judge, unit(cover=cover)) == [(NOON, "in-date", (), [2])]


def test_breaches_are_overdue_from_their_beginning_with_all_their_reasons() -> None:
    """In the order of time, whatever the order they were found in."""
    told = unit(
        breaches=(
            Breach(at(5), None, "function-check-owed", event(3)),
            Breach(at(2), "p-1", "used-without-check", None),
        )
    )
    assert said(pre_use_check.judge, told) == [
        (NOON, "in-date", (), []),
        (at(2), "overdue", ("used-without-check",), []),
        (at(5), "overdue", ("function-check-owed", "used-without-check"), [3]),
    ]


def test_a_cleaning_is_owed_from_when_it_was_owed() -> None:
    """Before that, and when nothing is owed, the rule is in date."""
    assert said(cleaning.judge, unit()) == [(NOON, "in-date", (), [])]
    assert said(cleaning.judge, unit(cleaning_owed=evidence(3, 2))) == [
        (NOON, "in-date", (), []),
        (at(3), "overdue", ("cleaning-owed",), [2]),
    ]
    assert said(cleaning.judge, unit(cleaning_owed=evidence(-3, 2))) == [(NOON, "overdue", ("cleaning-owed",), [2])]


def test_what_is_held_is_not_used() -> None:
    """It rests on every event held and on the recheck, each once."""
    told = unit(
        held=(
            Cause("recall", at(0), event(1), "r"),
            Cause("damage", at(1), event(2)),
            Cause("damage", at(2), event(2)),
        ),
        recheck=Evidence(at(0), event(3)),
    )
    assert said(withdrawal.judge, told) == [(NOON, "do-not-use", ("recall", "recheck", "withdrawal"), [1, 2, 3])]
    assert said(withdrawal.judge, unit(unresolved=(event(9),))) == [(NOON, "do-not-use", ("unresolved-report",), [])]
    assert said(withdrawal.judge, unit()) == [(NOON, "in-date", (), [])]


@pytest.mark.parametrize(
    ("site", "begins"),
    [("dock", "COSHH 2002 reg 9(5)"), ("mesa", "29 CFR 1910.134(h)(4)"), ("nowhere", "a unit that failed")],
)
def test_the_source_is_that_of_the_jurisdiction(site: str, begins: str) -> None:
    """Where none is known it is common practice."""
    assert clause(withdrawal.judge, unit(site=site)).startswith(begins)
