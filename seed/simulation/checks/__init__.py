"""The checks of a simulation: what the service answers over HTTP in the end, held against the truth.

One file a check, listed here in the order in which the report tells of them.
"""

from seed.simulation.checks import devices, feed, past, rejected, summary, units
from seed.simulation.checks.asking import Asking, Found, Stated

CHECKS = (feed, units, past, summary, devices, rejected)


async def verify(asking: Asking, stated: Stated) -> list[Found]:
    """Make every check, and say how much of what each looked at, and every difference."""
    return [found for check in CHECKS for found in [await check.check(asking, stated)]]
