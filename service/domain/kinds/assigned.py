"""A person is assigned to a task."""

from collections.abc import Iterator
from datetime import date
from typing import Any, ClassVar

from typing_extensions import override

from service.domain.event import PersonEvent
from service.domain.sample import sample
from service.domain.value import FieldError
from service.domain.words import Ref, Tag


class Assigned(PersonEvent, frozen=True, kw_only=True):
    """The person does the task, perhaps with one unit, perhaps to a last day."""

    example: ClassVar[dict[str, Any]] = sample(
        "assigned", {"person": "p-3071", "task": "hull-welding", "asset": "FX-0142", "until": "2026-06-30"}
    )

    task: Ref
    asset: Tag | None = None
    until: date | None = None

    @override
    def wrong(self) -> Iterator[FieldError]:
        """Refuse an end before the assignment."""
        yield from self.lasts_to("until")
