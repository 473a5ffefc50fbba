from datetime import date

import pytest

from service.domain.demand.series import by_period

USES = [
    (date(2026, 3, 1), 5.0),
    (date(2026, 3, 2), 1.0),
    (date(2026, 3, 8), 2.0),
    (date(2026, 3, 9), 4.0),
    (date(2026, 3, 29), 1.5),
    (date(2026, 3, 30), 9.0),
]


@pytest.mark.parametrize(
    ("since", "until", "days", "series"),
    [
        (date(2026, 3, 1), date(2026, 3, 30), 7, (3.0, 4.0, 0.0, 1.5)),  # the odd first day is left out
        (date(2026, 3, 2), date(2026, 3, 30), 7, (3.0, 4.0, 0.0, 1.5)),
        (date(2026, 3, 3), date(2026, 3, 30), 7, (4.0, 0.0, 1.5)),
        (date(2026, 3, 2), date(2026, 3, 30), 14, (7.0, 1.5)),
        (date(2026, 3, 29), date(2026, 3, 31), 1, (1.5, 9.0)),
        (date(2026, 3, 25), date(2026, 3, 30), 7, ()),
        (date(2026, 3, 31), date(2026, 3, 30), 7, ()),
    ],
)
def test_use_is_added_up_in_whole_periods(since: date, until: date, days: int, series: tuple[float, ...]) -> None:
    """The last ends with the day before, periods without use are zeros."""
    assert by_period(USES, since, until, days) == series


def test_a_period_is_a_week() -> None:
    """If nothing else is said."""
    assert by_period(USES, date(2026, 3, 2), date(2026, 3, 30)) == (3.0, 4.0, 0.0, 1.5)
