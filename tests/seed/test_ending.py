from collections.abc import Iterable
from datetime import datetime, timedelta
from uuid import UUID

import msgspec
import pytest

from seed.delivery import Delivery
from seed.scenario import Scenario
from service.domain.caller import KeyHolder, Role
from service.domain.codec import decode
from service.domain.context import world_of
from service.domain.intervals import Interval
from service.domain.kin import fold_kin
from service.domain.recorded import Recorded
from tests.seed.conftest import END

ROLES: tuple[Role, ...] = ("administrator", "manager", "site-lead", "site-app")
KEYS = {role: UUID(int=number) for number, role in enumerate(ROLES, 1)}
LOADED = END + timedelta(minutes=5)


def recorded(seq: int, one: Delivery) -> Recorded:
    """Record a delivery as a load right after the end would."""
    at = LOADED + timedelta(milliseconds=seq)
    return Recorded(
        event=decode(msgspec.json.encode(one.message)),
        organisation=UUID(int=9),
        seq=seq,
        received_at=at,
        recorded_at=at,
        sent_at=None if one.imported else at + timedelta(seconds=one.clock_ahead),
        key=KEYS["administrator"] if one.imported else KEYS[msgspec.convert(one.key_role, Role)],
        imported=one.imported,
    )


def tags_of(story: Scenario, fate: str, logged: Iterable[Delivery]) -> list[frozenset[str]]:
    """Give, for each unit of a fate, all tags it ever had."""
    old = {str(m["new_tag"]): str(m["asset"]) for m in (o.message for o in logged) if m["kind"] == "retagged"}
    return [frozenset({tag, old.get(tag, tag)}) for tag in sorted(story.truth.tags(fate))]


@pytest.fixture(scope="module")
def ends(story: Scenario, logged: list[Delivery]) -> dict[str, list[Interval]]:
    """Fold every marked unit with the service's own rules; give how it stands once the demo is loaded, by fate."""
    context = [recorded(n, one) for n, one in enumerate(logged, 1) if "asset" not in one.message]
    world = world_of(context, {KEYS[role]: KeyHolder(role) for role in ROLES})
    voidings = [row for row in context if row.event.kind == "voided"]
    found: dict[str, list[Interval]] = {}
    for fate in story.truth.fates:
        for tags in tags_of(story, fate, logged):
            rows = [recorded(n, one) for n, one in enumerate(logged, 1) if one.message.get("asset") in tags]
            [told] = fold_kin([*rows, *voidings], (), world).stories
            found.setdefault(fate, []).append(standing(told.intervals, LOADED + timedelta(minutes=10)))
    return found


def standing(intervals: Iterable[Interval], at: datetime) -> Interval:
    """Give the interval that holds at a moment."""
    return next(interval for interval in intervals if interval.since <= at < interval.until)


@pytest.mark.parametrize(
    ("fate", "phase", "standing", "reason"),
    [
        ("examination-lapses", None, "overdue", "thorough-examination"),
        ("examined-with-lapsed-meter", "issued", "overdue", "thorough-examination"),
        ("examined-without-competence", "issued", "overdue", "thorough-examination"),
        ("worn-out-battery", "issued", "overdue", "capacity-low"),
        ("loaded", "issued", "overdue", "loading"),
        ("not-cleaned", "issued", "overdue", "cleaning-owed"),
        ("forgotten-on-leave", "issued", "overdue", "used-without-check"),
        ("expired-filter", "issued", "do-not-use", "expired"),
        ("unlisted-part", "issued", None, "unlisted-part"),
        ("failed-in-hand", "quarantined", "do-not-use", "withdrawal"),
        ("ordered-from-a-desk", "quarantined", "do-not-use", "withdrawal"),
        ("put-away", "quarantined", "out-of-scope", "withdrawal"),
        ("missing", "missing", "out-of-scope", "missing"),
        ("at-service", "at-service", "out-of-scope", "at-service"),
    ],
)
def test_marked_units_end_as_meant(
    ends: dict[str, list[Interval]], fate: str, phase: str | None, standing: str | None, reason: str
) -> None:
    """The service's own rules find each marked unit in the phase and standing its fate is about, for its reason."""
    for interval in ends[fate]:
        assert phase in {None, interval.phase}
        assert standing in {None, interval.standing}
        assert reason in interval.reasons


def test_units_on_their_way_are_in_transit(ends: dict[str, list[Interval]]) -> None:
    """Loans that never arrived are in transit, out of the rate."""
    assert {(one.phase, one.in_scope) for one in ends["in-transit"]} == {("in-transit", False)}
