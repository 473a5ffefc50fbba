"""A site where it is about noon, so that its day is neither young nor nearly over, for what is said of a day alone."""

from datetime import UTC, date, datetime, timedelta
from typing import Any, NamedTuple

import pytest


class Where(NamedTuple):
    """A zone where it is about noon, the day there, and when that began."""

    zone: str
    day: date
    begins: datetime


@pytest.fixture
def here() -> Where:
    """Look for it once, so that an hour which ends meanwhile changes nothing."""
    now = datetime.now(UTC)
    ahead = timedelta(hours=12 - now.hour)
    midnight = (now + ahead).replace(hour=0, minute=0, second=0, microsecond=0)
    return Where(f"Etc/GMT{now.hour - 12:+d}", midnight.date(), midnight - ahead)


@pytest.fixture
def today(here: Where) -> str:
    """Give the date of the day there."""
    return here.day.isoformat()


def tomorrow() -> str:
    """Give a moment at which the day is over."""
    return (datetime.now(UTC) + timedelta(days=1)).isoformat()


def not_known(told: Any) -> dict[str, int]:
    """Give what is not known."""
    return {one["code"]: one["count"] for one in told["unknown"]}
