import pytest

from service.domain.demand import choosing
from service.domain.demand.choosing import choose
from service.domain.demand.rates import METHODS, Method
from tests.domain.demand.published import SCRIPTS


@pytest.mark.parametrize(
    ("series", "kind", "method"),
    [
        ((3.0, 4.0) * 5, "smooth", "croston"),
        ((1.0, 1.0, 20.0) * 4, "erratic", "sba"),
        ((0.0, 0.0, 2.0) * 4, "intermittent", "sba"),
        ((0.0, 1.0, 0.0, 20.0) * 3, "lumpy", "sba"),
        ((0.0,) * 40, "none", "croston"),
        ((), "none", "croston"),
    ],
)
def test_with_a_short_history_the_pattern_decides(series: tuple[float, ...], kind: str, method: Method) -> None:
    """By the published table."""
    choice = choose(series, 2, 0.95)
    assert (choice.pattern.kind, choice.forecast.method, choice.because) == (kind, method, "pattern")
    assert choice.scores == ()
    assert choice.score is None


def test_of_use_that_has_ended_the_back_test_decides() -> None:
    """The published series is lumpy, and its last 38 months are without use: TSB did clearly better."""
    choice = choose(SCRIPTS, 4, 0.95, 28)
    assert (choice.forecast.method, choice.because) == ("tsb", "back-test")
    assert choice.forecast.days == 28
    assert [score.method for score in choice.scores] == list(METHODS)
    assert choice.score is not None
    assert choice.score.pinball == min(score.pinball for score in choice.scores)
    assert choice.score.origins == 204 - 12 - 4 + 1


def test_a_method_must_be_clearly_better(monkeypatch: pytest.MonkeyPatch) -> None:
    """By a twentieth; where the bar is higher than what it was better by, the pattern decides."""
    assert choosing.CLEARLY == 0.95
    monkeypatch.setattr(choosing, "CLEARLY", 0.8)
    choice = choose(SCRIPTS, 4, 0.95)
    assert (choice.forecast.method, choice.because) == ("sba", "pattern")
    assert len(choice.scores) == 3
    # than the method of the pattern, not than any: Croston's method did worse than that
    monkeypatch.setattr(choosing, "CLEARLY", 0.8985)
    assert choose(SCRIPTS, 4, 0.95).forecast.method == "sba"


def test_too_few_origins_decide_nothing() -> None:
    """Scores are told all the same: 23 periods are a dozen and eleven."""
    series = (5.0, 9.0) * 6 + (0.0,) * 11
    few, enough = choose(series, 1, 0.95), choose((*series, 0.0), 1, 0.95)
    assert (few.because, [score.origins for score in few.scores]) == ("pattern", [11, 11, 11])
    assert (enough.because, enough.forecast.method) == ("back-test", "tsb")


def test_what_is_never_wrong_is_left_to_the_pattern() -> None:
    """Three in every week, and a stock for every other week: the median is three, and no method loses anything."""
    choice = choose((3.0,) * 40, 1, 0.5)
    assert [score.pinball for score in choice.scores] == [0, 0, 0]
    assert (choice.forecast.method, choice.because) == ("croston", "pattern")
