"""A person is cleared to wear respirators."""

from collections.abc import Iterator
from datetime import date
from typing import Any, ClassVar

from typing_extensions import override

from service.domain.event import PersonEvent
from service.domain.sample import sample
from service.domain.value import FieldError


class MedicallyCleared(PersonEvent, frozen=True, kw_only=True):
    """A date and a limit, nothing else: medical data stays out (design 9)."""

    example: ClassVar[dict[str, Any]] = sample("medically-cleared", {"person": "p-3071", "until": "2027-03-01"})

    until: date | None = None

    @override
    def wrong(self) -> Iterator[FieldError]:
        """Refuse an end before the clearance."""
        yield from self.lasts_to("until")
