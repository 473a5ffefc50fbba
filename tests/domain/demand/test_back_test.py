import pytest
from msgspec.structs import replace

from service.domain.demand.back_test import Score, back_test, pinball


def test_steady_use_of_three() -> None:
    """Poisson(6) is set for two periods: ten pieces at 95 %, of which four are left each time."""
    found = back_test((3.0,) * 30, "croston", 2, 0.95)
    assert found is not None
    assert replace(found, pinball=round(found.pinball, 12), bias=round(found.bias, 12)) == Score(
        method="croston",
        origins=17,  # after 12 to 28 periods
        periods=2,
        level=0.95,
        pinball=0.2,  # 0.05 for each of the four
        covered=1.0,
        bias=0.0,
        mase=None,  # use never changed, so that there is nothing to divide by
    )


def test_what_was_set_is_held_against_what_followed() -> None:
    """Zero is set after no use; then three are used in each of two periods, once beyond and once within the stretch."""
    found = back_test((0.0,) * 12 + (3.0, 3.0), "croston", 1, 0.9)
    assert found is not None
    assert found.origins == 2
    # at first nothing is known; then 3 in 13 periods: Poisson(3/13), of which 1 is the 90 % point
    assert found.pinball == pytest.approx((0.9 * 3 + 0.9 * 2) / 2)
    assert found.covered == 0
    assert found.bias == pytest.approx((0 - 3 + 3 / 13 - 3) / 2)
    assert found.mase == pytest.approx((3 + 3 - 3 / 13) / 2 / (3 / 13))


def test_errors_are_measured_by_those_of_the_last_period() -> None:
    """1 and 3 in turn: smoothed by a tenth the error settles at 1 / 0.95, where "as in the last period" errs by 2."""
    found = back_test((1.0, 3.0) * 100, "croston", 1, 0.9)
    assert found is not None
    assert found.mase == pytest.approx(1 / 0.95 / 2, abs=0.01)


@pytest.mark.parametrize(("length", "origins"), [(12, None), (13, None), (14, 1), (15, 2)])
def test_origins(length: int, origins: int | None) -> None:
    """A dozen periods are seen before the first, and the stretch is to be over."""
    found = back_test((3.0,) * length, "croston", 2, 0.95)
    assert (found and found.origins) == origins


@pytest.mark.parametrize(("length", "enough"), [(24, False), (25, True)])
def test_a_dozen_origins_are_enough(length: int, enough: bool) -> None:
    """Fewer are told but not gone by."""
    found = back_test((3.0,) * length, "croston", 2, 0.95)
    assert found is not None
    assert found.enough is enough


@pytest.mark.parametrize(("said", "came", "loss"), [(5, 8, 2.7), (8, 5, 0.3), (5, 5, 0)])
def test_the_loss_of_a_quantile(said: float, came: float, loss: float) -> None:
    """At 90 % a piece short weighs nine times one left."""
    assert pinball(said, came, 0.9) == pytest.approx(loss)


def test_a_stock_that_is_just_used_up_has_lasted() -> None:
    """Three are the 60 % point of Poisson(3) (0.647), and three are used each time."""
    found = back_test((3.0,) * 30, "croston", 1, 0.6)
    assert found is not None
    assert (found.pinball, found.covered) == (0, 1)
