"""Withdrawal: taking a unit out of use, and the ground each reason needs before it may be used again.

Each reason is held by itself. A failure is cleared by a passing examination, or by a competent repair and then a
complete passing check; a recall by its remedy; every other reason by a passing examination. All must be later than
the newest fact of the reason: an equal instant is not later.
"""

from datetime import datetime, timedelta
from uuid import UUID

from msgspec.structs import replace

from service.domain.unit import Cause, Evidence, Unit

WEEK = timedelta(days=7)
TOO_MANY = 3
WITHDRAW = frozenset({"withdraw"})
FAILURES = frozenset({"failed", "damage"})


def hold(unit: Unit, cause: Cause) -> Unit:
    """Withdraw the unit for a reason, dated anew where it is held already; in store it is put away at once."""
    others = tuple(held for held in unit.held if (held.reason, held.event) != (cause.reason, cause.event))
    away = unit.put_away or (cause.at if unit.where == "in-store" else None)
    return replace(unit, held=(*others, cause), put_away=away, cover=None)


def put_away_if_held(unit: Unit, at: datetime) -> Unit:
    """Count a withdrawn unit as put away from the moment nobody has it any more."""
    return replace(unit, put_away=at) if unit.held and unit.put_away is None else unit


def fail_check(unit: Unit, failure: Evidence, asks: frozenset[str], *, voided: bool) -> Unit:
    """Note a failing check: as its points ask, a recheck is owed or the unit is withdrawn.

    Failing twice running, or three times in seven days, withdraws; the echo of a failure is the same failure.
    """
    week = tuple(known for known in unit.failures if known.event != failure.event and failure.at - known.at <= WEEK)
    failures = (*week, failure)
    twice = unit.failing is not None and unit.failing != failure.event
    recheck = failure if "recheck" in asks else unit.recheck
    failed = replace(
        unit, recheck=recheck, failing=failure.event, failures=failures, last_failure=failure.at, cover=None
    )
    if "withdraw" in asks or twice or len(failures) >= TOO_MANY:
        return hold(failed, Cause("failed", failure.at, failure.event, voided=voided))
    return failed


def without_ground(unit: Unit, *, voided: UUID | None = None) -> tuple[str, ...]:
    """Name the reasons held that lack their ground. `voided` is an event whose voiding is accepted as a way out."""
    lacking = {cause.reason for cause in unit.held if cause.event != voided and not _has_ground(unit, cause)}
    return tuple(sorted(lacking))


def _has_ground(unit: Unit, cause: Cause) -> bool:
    if cause.reason == "recall":
        done = unit.remedied.values() if cause.recall is None else (unit.remedied.get(cause.recall),)
        return any(at is not None and at > cause.at for at in done)
    newest = max(held.at for held in unit.held if held.reason == cause.reason)
    if cause.reason in FAILURES:
        newest = max(newest, unit.last_failure or newest)
        if unit.repaired_and_checked is not None and unit.repaired_and_checked > newest:
            return True
    return unit.examined is not None and unit.examined.at > newest


def withdrawn(unit: Unit) -> tuple[str, ...]:
    """Name what forbids use by itself: a reason held, a recall among them, a recheck owed, a report not resolved."""
    reasons = {
        "recall": any(cause.reason == "recall" for cause in unit.held),
        "recheck": unit.recheck is not None,
        "unresolved-report": bool(unit.unresolved),
        "withdrawal": bool(unit.held or unit.components_out),
    }
    return tuple(reason for reason, speaks in reasons.items() if speaks)
