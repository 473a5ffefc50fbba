"""How many units of which model each site has, and what for.

What may live here: numbers of units, as a table. 380 units and headtops at the start, 20 units bought within the year.
"""

from collections.abc import Mapping

import msgspec


class Fleet(msgspec.Struct, frozen=True):
    """The units of a site at the start: personal ones and spares by model, shared ones by role."""

    personal: Mapping[str, int]
    spares: Mapping[str, int]
    cabinets: int
    occasional: int = 0
    pool: int = 0
    racks: int = 0
    tops: int = 0
    bought: int = 2


def _by_model(visor: int, hood: int, face: int, half: int) -> dict[str, int]:
    return {"ar-visor-4": visor, "ar-hood-2": hood, "ar-face-3": face, "pe-half-1": half}


FLEETS: dict[str, Fleet] = {
    "harrow-dock": Fleet(_by_model(12, 7, 4, 4), _by_model(8, 4, 2, 2), cabinets=6, occasional=4, pool=6, tops=3),
    "callow-forge": Fleet(_by_model(11, 7, 2, 3), _by_model(5, 3, 1, 2), cabinets=4, occasional=4, tops=2),
    "eastmere-yard": Fleet(_by_model(8, 6, 2, 3), _by_model(4, 3, 1, 1), cabinets=4, occasional=4),
    "pellbrook": Fleet(_by_model(11, 7, 3, 3), _by_model(5, 2, 1, 1), cabinets=4, occasional=4, pool=6, tops=3),
    "saltreach": Fleet(_by_model(6, 4, 1, 2), _by_model(3, 1, 0, 1), cabinets=4, occasional=4),
    "brackmoor": Fleet(_by_model(6, 4, 1, 2), _by_model(3, 1, 0, 1), cabinets=4, occasional=4),
    "cedar-flats": Fleet(_by_model(9, 6, 2, 3), _by_model(5, 2, 1, 1), cabinets=5, pool=5, tops=4),
    "marrow-bend": Fleet(_by_model(8, 6, 2, 2), _by_model(4, 3, 1, 1), cabinets=5, pool=5),
    "dry-mesa": Fleet(_by_model(0, 0, 0, 0), _by_model(0, 5, 0, 0), cabinets=6, racks=22),
    "copper-landing": Fleet(_by_model(6, 4, 1, 1), _by_model(2, 1, 1, 1), cabinets=4, occasional=2),
}
