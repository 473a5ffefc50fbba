"""Stretches of what lies in order: behind any of some beginnings, from one place to another.

The database multiplies them: an array of all places behind all beginnings would be as long as the one times the other.
"""

from collections.abc import Iterable

from service.domain.recall.traces import Stretch
from service.store.arrays import Integers, Texts


def arrays_of(stretches: Iterable[Stretch]) -> dict[str, object]:
    """Give the stretches as the arrays that a query joins by their number.

    `firsts` and `lasts` are places of the group `places_of`, `beginnings` those of the group `beginnings_of`.
    """
    groups: dict[tuple[str, ...], int] = {}
    numbered = [(groups.setdefault(some, len(groups)), first, last) for some, first, last in stretches]
    told = sorted(numbered, key=lambda one: (one[0], one[1], one[2] or ""))
    return {
        "places_of": Integers(number for number, _, _ in told),
        "firsts": Texts(first for _, first, _ in told),
        "lasts": Texts(last for _, _, last in told),
        "beginnings_of": Integers(number for some, number in groups.items() for _ in some),
        "beginnings": Texts(beginning for some in groups for beginning in some),
    }
