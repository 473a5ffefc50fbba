"""A unit was repaired."""

from typing import Annotated, Any, ClassVar

from msgspec import Meta

from service.domain.event import AssetEvent
from service.domain.part import PlacedParts
from service.domain.sample import sample
from service.domain.words import MANY, Ref, Refs


class Repaired(AssetEvent, frozen=True, kw_only=True):
    """Which points were put right, by what work (the firm's own codes), with which parts."""

    example: ClassVar[dict[str, Any]] = sample(
        "repaired",
        {
            "asset": "FX-0142",
            "points": ["airflow"],
            "work": ["fan-replaced", "seal-replaced"],
            "parts": [
                {
                    "position": "fan",
                    "part": {
                        "item": "fan-3",
                        "lot": "F2501",
                        "serial": "FN-77",
                        "expires": "2032-06",
                        "opened_on": "2026-03-02",
                        "condition": "new",
                    },
                }
            ],
        },
    )

    points: Refs = ()
    work: Annotated[tuple[Ref, ...], Meta(min_length=1, max_length=MANY)]
    parts: PlacedParts = ()
