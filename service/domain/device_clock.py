"""A device's clock: how far it is off, as far as the device's own messages tell.

A message tells when it was sent by the device's clock, and its receipt when that was by ours. The difference, receipt
minus sending, is how far the device's clock is behind, and on top of that what the way took, which is never less than
nothing. So the least of the last differences is the best there is. That is the clock filter of NTP (RFC 5905 section
10): of the last eight samples it takes the one with the least delay, and of its offset, positive where the sender is
behind, it makes the estimate. There the delay of each is measured by a round trip, which a post has not.
"""

from collections.abc import Iterable
from datetime import timedelta
from typing import Final

SAMPLES: Final = 8
"""How many messages count. A clock that was ahead and has been set right is believed again after so many."""


def offset(differences: Iterable[timedelta]) -> timedelta | None:
    """Estimate how far a clock is behind, ahead where negative, from receipt minus sending of the newest messages."""
    return min(differences, default=None)
