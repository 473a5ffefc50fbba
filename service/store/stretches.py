"""Stretches of what lies in order: behind any of some beginnings, from one place to another.

The database multiplies them: an array of all places behind all beginnings would be as long as the one times the other.
"""

from collections.abc import Hashable, Iterable

from service.domain.recall.traces import Stretch
from service.store.arrays import Integers, Texts


def arrays_of(stretches: Iterable[Stretch]) -> dict[str, object]:
    """Give the stretches in order as the arrays that a query joins by their number.

    `firsts` and `lasts` are places of the group `places_of`, `beginnings` those of the group `beginnings_of`.
    """
    told = sorted(stretches, key=lambda one: (one[0], one[1], one[2] or "", one[2] is None))
    groups: dict[Hashable, int] = {}
    numbers = [groups.setdefault(beginnings, len(groups)) for beginnings, _, _ in told]
    begun = {number: beginnings for number, (beginnings, _, _) in zip(numbers, told, strict=True)}
    return {
        "places_of": Integers(numbers),
        "firsts": Texts(first for _, first, _ in told),
        "lasts": Texts(last for _, _, last in told),
        "beginnings_of": Integers(number for number, some in begun.items() for _ in some),
        "beginnings": Texts(beginning for some in begun.values() for beginning in some),
    }
