"""A person gains competences."""

from collections.abc import Iterator
from datetime import date
from typing import Annotated, Any, ClassVar, Literal

from msgspec import Meta
from typing_extensions import override

from service.domain.event import PersonEvent
from service.domain.sample import sample
from service.domain.value import FieldError
from service.domain.words import MANY, Refs

Competence = Literal["wear", "examine", "repair", "release", "fit-test"]


class Trained(PersonEvent, frozen=True, kw_only=True):
    """Adds or extends, never shortens (R28). Without `models` it holds for all of them."""

    example: ClassVar[dict[str, Any]] = sample(
        "trained",
        {
            "person": "p-3071",
            "competences": ["wear", "examine"],
            "models": ["northwind-2"],
            "valid_until": "2027-03-01",
        },
    )

    competences: Annotated[tuple[Competence, ...], Meta(min_length=1, max_length=MANY)]
    models: Refs = ()
    valid_until: date | None = None

    @override
    def wrong(self) -> Iterator[FieldError]:
        """Refuse an end before the training."""
        yield from self.lasts_to("valid_until")
