"""An event is taken back."""

from collections.abc import Iterator
from typing import Any, ClassVar
from uuid import UUID

from typing_extensions import override

from service.domain.event import Event
from service.domain.sample import sample
from service.domain.value import FieldError
from service.domain.words import Reason


class Voided(Event, frozen=True, kw_only=True):
    """From now on the event named is known not to have happened; the original stays (design 3.6)."""

    kept_out: ClassVar[tuple[str, ...]] = ("remark", "reason")
    example: ClassVar[dict[str, Any]] = sample(
        "voided", {"event": "0198c1f2-7a10-7c3e-9b55-3f1d2ab40c01", "reason": "entered for the wrong unit"}
    )

    event: UUID
    reason: Reason

    @override
    def wrong(self) -> Iterator[FieldError]:
        """Refuse an event that voids itself."""
        if self.event == self.id:
            yield FieldError("event", "an event cannot void itself")

    @override
    def adverse(self) -> bool:
        """Say yes: what rested on the event may fall (R1)."""
        return True

    @override
    def subjects(self) -> tuple[str, ...]:
        """Name the event taken back."""
        return (f"event:{self.event}",)
