"""Listing: what may sit in a position of a unit of which nothing was ever said.

A model that is defined anew changes no unit. What any of its versions listed that was in force since the unit was
registered may have come with it, or been put in unsaid, and still sit there; the first version holds for all earlier
time (R40). So may what a model lists that the unit was registered as before: nobody says which registration is wrong.
Where a model has no version left, since each was taken back, they still tell what may sit there: to take a definition
back says of no unit what is in it. Only a part that is named, or taken out, says otherwise.
"""

from collections.abc import Iterable, Mapping
from typing import Final

from service.domain.kinds.model_defined import ModelDefined

Listing = Mapping[str, tuple[str, ...]]
"""By position the items that may sit there."""
APART: Final = "listing:apart"
"""What a fold asks for of a unit in which more may sit than its registrations leave traces of, one by one.

It was registered as several models or with several days, or parts were changed in it before its registration: as it is
known, or may have been known before (`once_apart.py`).
"""


def listing_of(versions: Iterable[ModelDefined]) -> Listing:
    """Give what any of several versions lists, of one model or of several."""
    found: dict[str, dict[str, None]] = {}
    for known in (position for version in versions for position in version.positions):
        found.setdefault(known.position, {}).update(dict.fromkeys(known.items))
    return {position: tuple(items) for position, items in found.items()}
