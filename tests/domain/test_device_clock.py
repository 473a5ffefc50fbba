from datetime import timedelta

from service.domain.device_clock import offset, since_step


def seconds(*differences: float) -> list[timedelta]:
    """Give differences."""
    return [timedelta(seconds=difference) for difference in differences]


def test_the_least_difference_says_how_far_a_clock_is_off() -> None:
    """The way only adds to receipt minus sending: behind is positive, ahead negative, and nothing says nothing."""
    assert offset(seconds(62.0, 60.2, 94.5)) == timedelta(seconds=60.2)
    assert offset(seconds(-598.0, -599.9)) == timedelta(seconds=-599.9)
    assert offset([]) is None


def test_what_was_said_before_a_step_says_nothing_of_a_clock() -> None:
    """Further than five minutes from the least, the newest is of another clock, with those before it that agree."""
    five = timedelta(minutes=5)

    assert since_step(seconds(10860.0, 10800.0, 0.5, 0.2), five) == seconds(10860.0, 10800.0)
    assert since_step(seconds(0.5, -900.0, -899.0), five) == seconds(0.5)
    assert since_step(seconds(300.0, 0.0, 600.0), five) == seconds(300.0, 0.0, 600.0)
    assert since_step(seconds(0.5, 610.0, 0.2), five) == seconds(0.5, 610.0, 0.2)
    assert since_step([], five) == []
