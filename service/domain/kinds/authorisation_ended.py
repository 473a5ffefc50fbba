"""A person may no longer do something."""

from typing import Any, ClassVar, Literal

from typing_extensions import override

from service.domain.event import PersonEvent
from service.domain.sample import sample
from service.domain.words import Ref


class AuthorisationEnded(PersonEvent, frozen=True, kw_only=True):
    """Ends a competence or the clearance, for one model or for all."""

    example: ClassVar[dict[str, Any]] = sample(
        "authorisation-ended", {"person": "p-3071", "of": "examine", "model": "northwind-2"}
    )

    of: Literal["wear", "examine", "repair", "release", "fit-test", "clearance"]
    model: Ref | None = None

    @override
    def adverse(self) -> bool:
        """Say yes: what rested on it may fall."""
        return True
