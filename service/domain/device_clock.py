"""A device's clock: how far it is off, as far as the device's own messages tell.

A message tells when it was sent by the device's clock, and its receipt when that was by ours. The difference, receipt
minus sending, is how far the device's clock is behind, and on top of that what the way took, which is never less than
nothing. So the least of the last differences is the best there is. That is the clock filter of NTP (RFC 5905 section
10): of the last eight samples it takes the one with the least delay, and of its offset, positive where the sender is
behind, it makes the estimate. There the delay of each is measured by a round trip, which a post has not.

A clock that was set, or lost its time, is another clock from then on. Where the newest difference is further from the
least than a clock may be off (R8), no more is believed of what was said before that step. A message that was on its way
for so long looks the same, and has the clock doubted until the next one comes, as R8 doubts what it says.
"""

from collections.abc import Sequence
from datetime import timedelta
from itertools import takewhile
from typing import Final

SAMPLES: Final = 8
"""How many messages count."""


def since_step(differences: Sequence[timedelta], tolerance: timedelta) -> Sequence[timedelta]:
    """Give the differences, the newest first, as far back as they are of the clock that the newest was stated by."""
    if not differences or differences[0] - min(differences) <= tolerance:
        return differences
    return list(takewhile(lambda one: abs(differences[0] - one) <= tolerance, differences))


def offset(differences: Sequence[timedelta]) -> timedelta | None:
    """Estimate how far a clock is behind, ahead where negative, from receipt minus sending of messages stated by it."""
    return min(differences, default=None)
