"""Classes by the cut-offs of Syntetos, Boylan and Croston (2005): 1.32 periods and 0.49."""

import pytest

from service.domain.demand.pattern import Kind, pattern
from tests.domain.demand.published import SCRIPTS


def test_the_published_series_is_lumpy() -> None:
    """204 months, 114 of them with use: an interval of 1.7895 and a squared coefficient of variation of 0.8323."""
    found = pattern(SCRIPTS)
    assert found.kind == "lumpy"
    assert found.interval == pytest.approx(204 / 114, abs=1e-12)
    assert found.cv2 == pytest.approx(0.8323491023, abs=1e-10)


@pytest.mark.parametrize(
    ("series", "kind", "interval", "cv2"),
    [
        ((5.0,) * 10, "smooth", 1.0, 0.0),
        ((4.0, 16.0), "smooth", 1.0, 0.36),  # mean 10, deviation 6
        ((3.0, 17.0), "erratic", 1.0, 0.49),  # mean 10, deviation 7: on the cut-off
        ((1.0,) * 25 + (0.0,) * 8, "intermittent", 1.32, 0.0),  # 33 / 25: on the cut-off
        ((1.0,) * 26 + (0.0,) * 8, "smooth", 34 / 26, 0.0),
        ((3.0, 0.0, 17.0, 0.0), "lumpy", 2.0, 0.49),
        ((0.0, 0.0, 7.0), "intermittent", 3.0, 0.0),
        ((0.0, 0.0), "none", None, None),
        ((), "none", None, None),
    ],
)
def test_classes(series: tuple[float, ...], kind: Kind, interval: float | None, cv2: float | None) -> None:
    """What lies on a cut-off counts as beyond it."""
    found = pattern(series)
    assert (found.kind, found.interval, found.cv2) == (kind, interval, cv2)
