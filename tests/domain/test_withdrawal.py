from typing import Any

import pytest

from service.domain.unit import Cause, Cover, Unit, put_away
from service.domain.withdrawal import fail, fail_check, hold, withdrawn, without_ground
from tests.domain.units import at, dated, event, evidence, unit

COVER = Cover(event(1), "p-1", at(0), at(12))
RECHECK, WITHDRAW = frozenset({"recheck"}), frozenset({"withdraw"})


def cause(reason: str, hours: float = 0, number: int = 1, recall: str | None = None) -> Cause:
    """Make a cause for being withdrawn."""
    return Cause(reason, at(hours), event(number), recall)


def held(*causes: Cause, **fields: Any) -> Unit:
    """Make a unit withdrawn for the causes."""
    return unit(held=causes, **fields)


def failed(*hours: float, asks: frozenset[str] = RECHECK) -> Unit:
    """Make a unit whose checks failed, each another event."""
    told = unit()
    for number, hour in enumerate(hours, 1):
        told = fail_check(told, evidence(hour, number), asks)
    return told


def test_holding_ends_the_cover_and_keeps_every_cause() -> None:
    """A unit may be withdrawn for several causes, the same one again too."""
    once = hold(unit(cover=COVER), cause("damage"))
    assert hold(once, cause("damage", 1, 2)).held == (cause("damage"), cause("damage", 1, 2))
    assert once.cover is None


def test_a_failed_point_that_asks_for_a_recheck_owes_one() -> None:
    """One such failure owes a recheck and withdraws nothing."""
    told = fail_check(unit(cover=COVER), evidence(0), RECHECK)
    assert (told.recheck, told.held, told.failed, told.cover) == (evidence(0), (), (evidence(0),), None)


def test_a_failed_point_that_withdraws_withdraws_at_once() -> None:
    """The unit is held as failed, and no recheck is owed."""
    told = failed(0, asks=WITHDRAW)
    assert (told.recheck, told.held) == (None, (cause("failed"),))


def test_failing_twice_running_withdraws() -> None:
    """Two failing checks without a complete passing one between withdraw the unit (design 3.4)."""
    told = failed(0, 1)
    assert told.held == (cause("failed", 1, 2),)
    assert told.recheck == evidence(1, 2)


def test_an_echo_is_the_same_failure() -> None:
    """A failure that counts again at its receipt is not a second one (R9)."""
    told = fail_check(failed(0), evidence(5), RECHECK)
    assert told.held == ()
    assert told.failures == (evidence(5),)


def test_an_echo_after_another_failure_is_one_of_two_running() -> None:
    """Where another failure came between, the echo withdraws like any second one."""
    told = fail_check(failed(0), evidence(1, 2), RECHECK)
    assert fail_check(told, evidence(2), RECHECK).held == (cause("failed", 1, 2), cause("failed", 2, 1))


@pytest.mark.parametrize(("hours", "withdrawn_then"), [(168, True), (168.001, False)])
def test_three_failures_in_seven_days_withdraw(hours: float, withdrawn_then: bool) -> None:
    """The third failing check within 168 hours withdraws, even with passing checks between; both ends belong."""
    told = unit(failing=(), failures=(evidence(0, 1), evidence(50, 2)))
    assert bool(fail_check(told, evidence(hours, 3), RECHECK).held) is withdrawn_then


def test_two_failures_in_seven_days_do_not_withdraw() -> None:
    """With a passing check between, two are not enough."""
    assert fail_check(unit(failures=(evidence(0),)), evidence(1, 2), RECHECK).held == ()


def test_of_failures_the_newest_two_events_are_kept() -> None:
    """Enough to leave any one of them out of account."""
    told = fail(fail(fail(unit(), evidence(0, 1)), evidence(1, 2)), evidence(2, 3))
    assert told.failed == (evidence(1, 2), evidence(2, 3))
    assert fail(told, evidence(5, 2)).failed == (evidence(2, 3), evidence(5, 2))
    assert fail(told, evidence(5, 3)).failed == (evidence(1, 2), evidence(5, 3))


@pytest.mark.parametrize("reason", ["failed", "damage", "found", "contamination", "suspect", "overdue", "other"])
def test_an_examination_later_than_the_reason_is_its_ground(reason: str) -> None:
    """A passing examination clears every reason but a recall; at the same instant it is not later (R3, R25)."""
    examined = dated(at(1).date()).on
    assert without_ground(held(cause(reason, -4), examined=dated(examined))) == ()
    assert without_ground(held(cause(reason, -3), examined=dated(examined))) == (reason,)
    assert without_ground(held(cause(reason, -4))) == (reason,)


def test_ground_is_later_than_the_newest_of_the_reason() -> None:
    """A reason given anew needs its ground anew (R43)."""
    told = held(cause("other", -5), cause("other", -2, 2), examined=dated(at(0).date()))
    assert without_ground(told) == ("other",)


def test_each_reason_needs_its_own_ground() -> None:
    """All reasons that lack theirs are named, once each, in order."""
    told = held(cause("suspect"), cause("damage", 0, 2), cause("damage", 1, 3), cause("other", -9, 4))
    assert without_ground(told) == ("damage", "other", "suspect")
    assert without_ground(held(*told.held, examined=dated(at(0).date()))) == ("damage", "suspect")


@pytest.mark.parametrize("reason", ["failed", "damage"])
def test_a_repair_and_a_check_after_it_clear_a_failure(reason: str) -> None:
    """A repair that a complete check followed is ground if it is later than the failure (design 3.4)."""
    assert without_ground(held(cause(reason), repaired_and_checked=at(1))) == ()
    assert without_ground(held(cause(reason), repaired_and_checked=at(0))) == (reason,)


@pytest.mark.parametrize("reason", ["found", "contamination", "suspect", "overdue", "other"])
def test_a_repair_clears_no_other_reason(reason: str) -> None:
    """Only failures are cleared by a repair (R25)."""
    assert without_ground(held(cause(reason), repaired_and_checked=at(1))) == (reason,)


@pytest.mark.parametrize("reason", ["failed", "damage"])
def test_a_failure_of_any_sort_asks_for_newer_ground(reason: str) -> None:
    """Ground must also be later than the newest failure, even one that withdrew nothing."""
    told = held(cause(reason), failed=(evidence(2, 9),), repaired_and_checked=at(1))
    assert without_ground(told) == (reason,)
    assert without_ground(held(cause("other"), failed=(evidence(2, 9),), examined=dated(at(24).date()))) == ()


def test_a_recall_is_cleared_by_its_own_remedy() -> None:
    """Each recall is held by itself, and its remedy must be later; an examination is none (R25)."""
    told = held(cause("recall", 0, 1, "r-1"), cause("recall", 5, 2, "r-2"), examined=dated(at(48).date()))
    assert without_ground(told) == ("recall",)
    remedied = {"r-1": at(1), "r-2": at(6)}
    assert without_ground(held(*told.held, remedied=remedied)) == ()
    assert without_ground(held(*told.held, remedied=remedied | {"r-2": at(5)})) == ("recall",)
    assert without_ground(held(*told.held, remedied={"r-1": at(9)})) == ("recall",)


def test_a_quarantine_that_names_no_recall_is_cleared_by_any() -> None:
    """Whatever recall was acted on, if it was later."""
    assert without_ground(held(cause("recall"), remedied={"r-7": at(1)})) == ()
    assert without_ground(held(cause("recall"), remedied={"r-7": at(0)})) == ("recall",)
    assert without_ground(held(cause("recall"))) == ("recall",)


def test_what_is_forgiven_is_left_out_of_account() -> None:
    """A voided failure on which a release rests needs no ground; the others do (R26)."""
    told = held(cause("failed", 0, 1), failed=(evidence(0, 1),))
    assert without_ground(told, forgiven=event(1)) == ()
    assert without_ground(told, forgiven=event(2)) == ("failed",)
    both = held(cause("failed", 0, 1), cause("damage", 0, 2), failed=(evidence(0, 1),))
    assert without_ground(both, forgiven=event(1)) == ("damage",)


def test_a_failure_forgiven_no_longer_makes_ground_old() -> None:
    """Ground older than the failure that is forgiven serves for the others of that reason."""
    told = held(cause("failed", -9, 1), cause("failed", 5, 2), failed=(evidence(5, 2),), examined=dated(at(0).date()))
    assert without_ground(told) == ("failed",)
    assert without_ground(told, forgiven=event(2)) == ()


def test_nothing_held_lacks_nothing() -> None:
    """A unit that is not withdrawn needs no ground."""
    assert without_ground(unit()) == ()


@pytest.mark.parametrize(
    ("fields", "reasons"),
    [
        ({}, ()),
        ({"held": (cause("damage"),)}, ("withdrawal",)),
        ({"held": (cause("recall"),)}, ("recall", "withdrawal")),
        ({"recheck": evidence(0)}, ("recheck",)),
        ({"unresolved": (event(7),)}, ("unresolved-report",)),
        ({"components": {"b": ("recheck", "retired")}}, ("recheck", "retired")),
        ({"components": {"b": ("withdrawal",)}, "held": (cause("other"),)}, ("withdrawal",)),
    ],
)
def test_what_forbids_use_by_itself_is_named(fields: dict[str, Any], reasons: tuple[str, ...]) -> None:
    """Reasons held, a recheck, a report, and what speaks against a component."""
    assert withdrawn(unit(**fields)) == reasons


def test_put_away_is_withdrawn_and_in_nobodys_hands() -> None:
    """Since the later of the withdrawal and the putting down; not while in somebody's hands or away."""
    told = held(cause("damage", 2), cause("other", 5, 2))
    assert put_away(told) == at(2)
    assert put_away(held(*told.held, placed_at=at(3))) == at(3)
    assert put_away(held(*told.held, placed_at=at(1))) == at(2)
    assert put_away(held(*told.held, where="issued")) is None
    assert put_away(held(*told.held, at_service="maker")) is None
    assert put_away(unit()) is None
