"""Which method forecasts an item: the one published for the pattern of its use, unless another did better here.

Source of the table: Syntetos, Boylan and Croston (2005), as in `pattern`: Croston's method where use is smooth, its
bias-corrected form elsewhere. TSB belongs to no pattern: it is for use that comes to an end, which the back-test shows.
"""

from typing import Literal

import msgspec

from service.domain.demand.back_test import Score, back_test
from service.domain.demand.forecast import Forecast, forecast
from service.domain.demand.pattern import Kind, Pattern, pattern
from service.domain.demand.rates import METHODS, Method
from service.domain.demand.series import WEEK

BY_PATTERN: dict[Kind, Method] = {
    "none": "croston",
    "smooth": "croston",
    "erratic": "sba",
    "intermittent": "sba",
    "lumpy": "sba",
}
CLEARLY = 0.95
"""Another method is taken only where its loss is below this share of the published one's, lest proposals flicker."""


class Choice(msgspec.Struct, frozen=True):
    """The forecast to go by, the pattern, what decided, and how each method did (none where history is short)."""

    forecast: Forecast
    pattern: Pattern
    because: Literal["pattern", "back-test"]
    scores: tuple[Score, ...]

    @property
    def score(self) -> Score | None:
        """Give how the method that was chosen did."""
        return next((score for score in self.scores if score.method == self.forecast.method), None)


def choose(series: tuple[float, ...], periods: int, level: float, days: int = WEEK) -> Choice:
    """Choose for an item with such a history, whose stock is to last so many periods (of so many days) at a level.

    Two years of weeks take some 10 to 30 ms, and half a second at most, however much is used (`counts.MOST_NUMBERS`,
    `back_test.MOST_ORIGINS`). A choice keeps for some weeks, so that only the forecast need be made anew.
    """
    kind = pattern(series)
    tried = (back_test(series, method, periods, level) for method in METHODS) if any(series) else ()
    scores = tuple(score for score in tried if score is not None)
    published = BY_PATTERN[kind.kind]
    best = min((score for score in scores if score.enough), key=lambda score: score.pinball, default=None)
    usual = next((score for score in scores if score.method == published), None)
    if best is None or usual is None or best.pinball >= CLEARLY * usual.pinball:
        return Choice(forecast(series, published, days), kind, "pattern", scores)
    return Choice(forecast(series, best.method, days), kind, "back-test", scores)
