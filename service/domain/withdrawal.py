"""Withdrawal: taking a unit out of use, and the ground each reason needs before it may be used again.

Each reason is held by itself, and so is each recall. A failure is cleared by a passing examination, or by a competent
repair and then a complete passing check; a recall by its remedy; every other reason by a passing examination. All must
be later than the newest fact of the reason: an equal instant is not later. Of a recall that was voided altogether a
passing examination later than the voiding is ground, too (design 3.6).
"""

from collections.abc import Iterable, Mapping
from datetime import datetime, timedelta
from types import MappingProxyType
from uuid import UUID

from msgspec.structs import replace

from service.domain.unit import Cause, Evidence, Unit

WEEK = timedelta(days=7)
TOO_MANY = 3
WITHDRAW = frozenset({"withdraw"})
FAILURES = frozenset({"failed", "damage"})
NOTHING: Mapping[str, datetime] = MappingProxyType({})


def hold(unit: Unit, cause: Cause) -> Unit:
    """Withdraw the unit for a reason; what a check allowed ends."""
    return replace(unit, held=(*unit.held, cause), cover=None)


def fail(unit: Unit, failure: Evidence) -> Unit:
    """Note a failure of any sort: ground for release must be later."""
    return replace(unit, failed=_newest_two(unit.failed, failure))


def fail_check(unit: Unit, failure: Evidence, asks: frozenset[str]) -> Unit:
    """Note a failing check: as its points ask, a recheck is owed or the unit is withdrawn.

    Failing twice running, or three times in seven days, withdraws; the echo of a failure is the same failure.
    """
    week = tuple(known for known in unit.failures if known.event != failure.event and failure.at - known.at <= WEEK)
    failures = (*week, failure)
    twice = any(event != failure.event for event in unit.failing)
    failed = replace(
        fail(unit, failure),
        recheck=failure if "recheck" in asks else unit.recheck,
        failing=tuple(dict.fromkeys((*unit.failing, failure.event)))[:2],
        failures=failures,
        cover=None,
    )
    if "withdraw" in asks or twice or len(failures) >= TOO_MANY:
        return hold(failed, Cause("failed", failure.at, failure.event))
    return failed


def _newest_two(known: Iterable[Evidence], new: Evidence) -> tuple[Evidence, ...]:
    """Keep the newest of two events: enough to leave any one of them out of account."""
    return (*(old for old in known if old.event != new.event), new)[-2:]


def without_ground(
    unit: Unit, *, forgiven: UUID | None = None, voided: Mapping[str, datetime] = NOTHING, lifted: str | None = None
) -> tuple[str, ...]:
    """Name the reasons held that lack their ground.

    `forgiven` is a failure that may be left out of account, `lifted` a recall; `voided` are the recalls that were
    voided altogether, and when.
    """
    kinds = {(cause.reason, cause.recall) for cause in unit.held if cause.recall is None or cause.recall != lifted}
    return tuple(
        sorted({reason for reason, recall in kinds if not _has_ground(unit, reason, recall, forgiven, voided)})
    )


def held_for(unit: Unit, recall: str) -> bool:
    """Say whether a unit is withdrawn for a recall, and nothing done about it since is ground for its release."""
    held = any(cause.reason == "recall" and cause.recall == recall for cause in unit.held)
    return held and not _has_ground(unit, "recall", recall, None, NOTHING)


def _has_ground(
    unit: Unit, reason: str, recall: str | None, forgiven: UUID | None, voided: Mapping[str, datetime]
) -> bool:
    held = ((cause.reason, cause.recall, cause.event, cause.at) for cause in unit.held)
    dates = [at for *kind, event, at in held if kind == [reason, recall] and event != forgiven]
    if not dates:
        return True
    newest = max(dates)
    if reason == "recall":
        done = unit.remedied.values() if recall is None else (unit.remedied.get(recall),)
        taken_back = None if recall is None else voided.get(recall)
        examined = taken_back is not None and unit.examined is not None and unit.examined.at > max(newest, taken_back)
        return examined or any(at is not None and at > newest for at in done)
    if reason in FAILURES:
        newest = max([newest, *(failure.at for failure in unit.failed if failure.event != forgiven)])
        if unit.repaired_and_checked is not None and unit.repaired_and_checked > newest:
            return True
    return unit.examined is not None and unit.examined.at > newest


def withdrawn(unit: Unit) -> tuple[str, ...]:
    """Name what forbids use by itself: a reason held, a recall among them, a recheck owed, a report not resolved.

    What speaks against a component speaks against the unit.
    """
    reasons = {reason for speaking in unit.components.values() for reason in speaking}
    if unit.held:
        reasons.add("withdrawal")
    if any(cause.reason == "recall" for cause in unit.held):
        reasons.add("recall")
    if unit.recheck is not None:
        reasons.add("recheck")
    if unit.unresolved:
        reasons.add("unresolved-report")
    return tuple(sorted(reasons))
