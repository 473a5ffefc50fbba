import pytest

from service.domain.demand.quantity import Limit, Ordered, ordered
from service.domain.demand.shelf_life import Usable


@pytest.mark.parametrize(
    ("wanted", "pack", "minimum", "quantity", "limits"),
    [
        (7.0, None, None, 7.0, ()),
        (6.2, None, None, 7.0, ("pack",)),  # whole pieces
        (7.0, 0.0, 0.0, 7.0, ()),
        (7.0, 4.0, None, 8.0, ("pack",)),
        (8.0, 4.0, None, 8.0, ()),
        (7.0, 4.0, 12.0, 12.0, ("minimum",)),
        (7.0, 4.0, 10.0, 12.0, ("minimum", "pack")),
        (13.0, 4.0, 10.0, 16.0, ("pack",)),
        (0.3, 0.1, None, 0.3, ()),  # as they are written: three packs, not four
        (0.0, 4.0, 12.0, 0.0, ()),
        (-3.0, 4.0, 12.0, 0.0, ()),
    ],
)
def test_packs_and_minimum(
    wanted: float, pack: float | None, minimum: float | None, quantity: float, limits: tuple[Limit, ...]
) -> None:
    """Rounded up to whole packs, at least the minimum; nothing wanted is nothing ordered."""
    found = ordered(wanted, pack, minimum)
    assert (found.quantity, found.rounded, found.limits) == (quantity, quantity, limits)


@pytest.mark.parametrize(
    ("usable", "quantity", "limits"),
    [
        (Usable(16, 20), 16.0, ("pack",)),
        (Usable(15, 20), 12.0, ("pack", "expiry")),  # whole packs of what can be used
        (Usable(8, 20), 8.0, ("pack", "expiry")),
        (Usable(7, 20), 8.0, ("pack", "expiry")),  # the smallest order, since it might be used
        (Usable(7, 8), 8.0, ("pack", "expiry")),
        (Usable(7, 7), 0.0, ("pack", "expiry")),
        (Usable(0, 0), 0.0, ("pack", "expiry")),
    ],
)
def test_never_more_than_can_be_used_in_time(usable: Usable, quantity: float, limits: tuple[Limit, ...]) -> None:
    """Of 13 wanted in packs of 4, eight at least."""
    assert ordered(13.0, 4.0, 8.0, usable) == Ordered(13.0, 16.0, quantity, limits)


def test_the_smallest_order_is_in_whole_packs() -> None:
    """A minimum of 9 in packs of 4 is 12."""
    assert ordered(13.0, 4.0, 9.0, Usable(0, 12)).quantity == 12
    assert ordered(13.0, 4.0, 9.0, Usable(0, 11)).quantity == 0
    assert ordered(13.0, 4.0, None, Usable(0, 4)).quantity == 4


def test_what_is_used_in_the_mean_is_ordered_whatever_is_used_at_best() -> None:
    """Eight are used in the mean, which is the smallest order; at a low level fewer are at best."""
    found = ordered(8.0, 8.0, None, Usable(8, 5))
    assert (found.quantity, found.limits) == (8.0, ())
