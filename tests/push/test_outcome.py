from datetime import UTC, datetime, timedelta
from uuid import UUID

import pytest

from service.pushing.outcome import Before, outcome
from service.pushing.schedule import ATTEMPTS, STEPS, pause
from service.pushing.sending import Answered, Failure

NOON = datetime(2026, 3, 2, 12, tzinfo=UTC)
EVENT = UUID("0198c1f2-7a10-7c3e-9b55-3f1d2ab40c02")
SECOND, MINUTE = timedelta(seconds=1), timedelta(minutes=1)


def before(attempts: int = 0, failures: int = 0, failing_since: datetime | None = None) -> Before:
    """Give what there was before an attempt."""
    return Before(7, EVENT, attempts, NOON, failures, failing_since)


def test_the_schedule_is_the_one_suggested() -> None:
    """Ten attempts, 75 hours 35 minutes and 5 seconds from first to last, as Standard Webhooks 1.0.0 suggests."""
    assert ATTEMPTS == 10
    assert sum(STEPS, timedelta()) == timedelta(hours=75, minutes=35, seconds=5)


def test_chance_stays_within_a_step() -> None:
    """Each pause lies between the step before and its own, by chance; after the last attempt there is none."""
    for attempts, step in enumerate(STEPS, start=1):
        least = pause(attempts, lambda: 0.0)
        most = pause(attempts, lambda: 0.999_999)
        assert least == (STEPS[attempts - 2] if attempts > 1 else timedelta())
        assert most is not None
        assert least < most < step
    assert pause(10, lambda: 0.5) is None


def test_what_was_taken_clears_the_webhook() -> None:
    """A message that was taken is delivered, and its receiver is well again."""
    delivery, moved = outcome(before(3, 4, NOON - MINUTE), Answered(200), NOON, 12, lambda: 0.5)
    assert (delivery.state, delivery.attempts, delivery.next_at, delivery.error) == ("delivered", 4, None, None)
    assert (moved.failures, moved.failing_since, moved.rests_until, moved.delivered_at) == (0, None, None, NOON)


@pytest.mark.parametrize(
    ("status", "error"),
    [(None, "timed-out"), (None, "not-connected"), (302, "redirected"), (500, "failing"), (503, "failing")],
)
def test_a_receiver_that_is_away_rests(status: int | None, error: Failure) -> None:
    """Where the receiver is at fault nothing is sent to it for a while."""
    delivery, moved = outcome(before(), Answered(status, error), NOON, 12, lambda: 0.5)
    assert (delivery.state, delivery.next_at) == ("waiting", NOON + 2.5 * SECOND)
    assert (moved.failures, moved.rests_until, moved.failing_since) == (1, NOON + 2.5 * SECOND, NOON)


@pytest.mark.parametrize("status", [400, 401, 404, 422])
def test_a_message_that_is_refused_stops_no_other(status: int) -> None:
    """Where the message is at fault others go on at once, it comes again by itself, and its receiver is well."""
    delivery, moved = outcome(before(1, 4, NOON - MINUTE), Answered(status, "refused"), NOON, 12, lambda: 0.0)
    assert (delivery.state, delivery.next_at) == ("waiting", NOON + 5 * SECOND)
    assert (moved.failures, moved.rests_until, moved.failing_since, moved.reason) == (0, None, None, None)


def test_a_message_that_is_refused_is_soon_a_dead_letter() -> None:
    """The fifth attempt at a message is its last where it is refused, two to three hours after the first."""
    states = [outcome(before(n), Answered(422, "refused"), NOON, 1, lambda: 0.5)[0].state for n in range(5)]
    assert states == ["waiting", "waiting", "waiting", "waiting", "dead"]
    assert sum(STEPS[:4], timedelta()) == timedelta(hours=2, minutes=35, seconds=5)


def test_a_fault_of_the_service_is_held_against_nobody() -> None:
    """Where the service is at fault the attempt counts and the webhook rests a moment; its receiver is as it was."""
    delivery, moved = outcome(before(2, 3, NOON - MINUTE), Answered(None, "service-failed"), NOON, 0, lambda: 0.5)
    assert (delivery.state, delivery.attempts) == ("waiting", 3)
    assert (moved.failures, moved.failing_since, moved.reason) == (3, NOON - MINUTE, None)
    assert moved.rests_until == NOON + 2.5 * SECOND


def test_a_rest_has_an_end_soon() -> None:
    """A receiver that was away for hours is tried every five minutes, not only when its oldest message is due."""
    delivery, moved = outcome(before(7, 7), Answered(None, "timed-out"), NOON, 12, lambda: 0.0)
    assert delivery.next_at == NOON + timedelta(hours=14)
    assert moved.rests_until == NOON + 5 * MINUTE


def test_a_receiver_may_ask_for_more_time() -> None:
    """`Retry-After` holds back the message and all others, for a day at most."""
    delivery, moved = outcome(before(), Answered(503, "failing", 600), NOON, 12, lambda: 0.5)
    assert delivery.next_at == moved.rests_until == NOON + 10 * MINUTE
    _, moved = outcome(before(), Answered(503, "failing", 10**9), NOON, 12, lambda: 0.5)
    assert moved.rests_until == NOON + timedelta(hours=24)


def test_the_tenth_failure_is_the_last() -> None:
    """What was not taken ten times is a dead letter, and waits for nothing."""
    delivery, moved = outcome(before(9), Answered(500, "failing"), NOON, 12, lambda: 0.5)
    assert (delivery.state, delivery.attempts, delivery.next_at) == ("dead", 10, None)
    assert moved.reason is None


def test_gone_is_gone() -> None:
    """A receiver that answers 410 is sent nothing more until somebody sees to it; the message waits."""
    delivery, moved = outcome(before(), Answered(410, "refused"), NOON, 12, lambda: 0.5)
    assert (delivery.state, moved.reason) == ("waiting", "gone")


@pytest.mark.parametrize(("days", "reason"), [(4.99, None), (5, "failing")])
def test_five_days_of_failure_are_enough(days: float, reason: str | None) -> None:
    """A webhook whose receiver has been at fault for five days is disabled."""
    since = NOON - timedelta(days=days)
    for answered in (Answered(None, "timed-out"), Answered(503, "failing")):
        _, moved = outcome(before(0, 3, since), answered, NOON, 12, lambda: 0.5)
        assert (moved.reason, moved.failing_since) == (reason, since)


def test_refusals_disable_nothing() -> None:
    """However long a receiver refuses messages, its webhook goes on."""
    _, moved = outcome(before(0, 3, NOON - timedelta(days=99)), Answered(400, "refused"), NOON, 12, lambda: 0.5)
    assert (moved.reason, moved.failing_since) == (None, None)
