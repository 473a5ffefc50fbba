"""When a message that was not taken is sent again: the schedule that Standard Webhooks 1.0.0 suggests, with jitter.

The steps grow exponentially at first. Which moment within a step is left to chance, from the step before to the end of
this one, so that many messages that failed together do not come back together, and none sooner than the time before.
"""

from collections.abc import Callable
from datetime import timedelta
from typing import Final, TypeAlias

#: After the first attempt, the second and so on; ten attempts in 75 hours at most.
STEPS: Final = (
    timedelta(seconds=5),
    timedelta(minutes=5),
    timedelta(minutes=30),
    timedelta(hours=2),
    timedelta(hours=5),
    timedelta(hours=10),
    timedelta(hours=14),
    timedelta(hours=20),
    timedelta(hours=24),
)
ATTEMPTS: Final = len(STEPS) + 1
NONE: Final = timedelta()

Draw: TypeAlias = Callable[[], float]
"""Draws a number from 0 to below 1."""


def pause(attempts: int, draw: Draw) -> timedelta | None:
    """Give how long to wait after so many failed attempts; None where that was the last."""
    if attempts >= ATTEMPTS:
        return None
    least = STEPS[attempts - 2] if attempts > 1 else NONE
    return least + (STEPS[attempts - 1] - least) * draw()
