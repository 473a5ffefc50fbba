"""A person breathes through a unit."""

from typing import Any, ClassVar, Literal

from typing_extensions import override

from service.domain.event import AssetEvent
from service.domain.sample import sample
from service.domain.value import FieldError
from service.domain.words import Instant, Ref

Purpose = Literal["routine", "emergency", "training", "fit-test"]


class Worn(AssetEvent, frozen=True, kw_only=True):
    """One wearing; it starts at `occurred_at`. Without `until` it is judged at its start (R18)."""

    example: ClassVar[dict[str, Any]] = sample(
        "worn",
        {
            "asset": "FX-0142",
            "wearer": "p-3071",
            "until": "2026-03-02T09:30:00+00:00",
            "task": "hull-welding",
            "purpose": "routine",
            "setting": "boost",
        },
    )

    wearer: Ref
    until: Instant | None = None
    task: Ref | None = None
    purpose: Purpose | None = None
    setting: Ref | None = None

    @override
    def __post_init__(self) -> None:
        """Refuse an end without a start, and one before it."""
        super().__post_init__()
        if self.until is None:
            return
        if self.occurred_at is None:
            raise FieldError("until", "needs occurred_at, its start")
        if self.until < self.occurred_at:
            raise FieldError("until", "must not lie before occurred_at, its start")
