"""A device's own counter against its clock."""

from datetime import timedelta

from service.domain.recorded import Recorded


def contradict(bad: Recorded, other: Recorded, tolerance: timedelta) -> bool:
    """Say whether the device's counter puts another event on the other side of bad news than its stamp does (R8)."""
    one, two = bad.event, other.event
    if one.id == two.id or one.device != two.device or one.occurred_at is None or two.occurred_at is None:
        return False
    if one.device_seq is None or two.device_seq is None:
        return False
    before = two.device_seq < one.device_seq and two.occurred_at > one.occurred_at + tolerance
    return before or (two.device_seq > one.device_seq and two.occurred_at < one.occurred_at - tolerance)
