from datetime import timedelta

from service.domain.device_clock import offset


def seconds(*differences: float) -> list[timedelta]:
    """Give differences."""
    return [timedelta(seconds=difference) for difference in differences]


def test_the_least_difference_says_how_far_a_clock_is_off() -> None:
    """The way only adds to receipt minus sending: behind is positive, ahead negative, and nothing says nothing."""
    assert offset(seconds(62.0, 60.2, 94.5)) == timedelta(seconds=60.2)
    assert offset(seconds(-598.0, -599.9)) == timedelta(seconds=-599.9)
    assert offset([]) is None
