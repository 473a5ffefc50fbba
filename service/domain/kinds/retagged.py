"""A unit gets another tag."""

from collections.abc import Iterator
from typing import TYPE_CHECKING, Any, ClassVar

from msgspec.structs import replace
from typing_extensions import override

from service.domain.event import AssetEvent
from service.domain.sample import sample
from service.domain.value import FieldError
from service.domain.words import Tag

if TYPE_CHECKING:
    from service.domain.facts import Fact
    from service.domain.unit import Unit
    from service.domain.world import World


class Retagged(AssetEvent, frozen=True, kw_only=True):
    """The unit goes on under `new_tag`; its old tag is free from then on (R47)."""

    names: ClassVar[bool] = True
    disposes: ClassVar[bool] = True
    example: ClassVar[dict[str, Any]] = sample("retagged", {"asset": "FX-0142", "new_tag": "FX-1142"})

    new_tag: Tag

    @override
    def wrong(self) -> Iterator[FieldError]:
        """Refuse the tag it has already."""
        if self.new_tag == self.asset:
            yield FieldError("new_tag", "is the tag it has already")

    @override
    def subjects(self) -> tuple[str, ...]:
        """Name the unit by both tags."""
        return (*super().subjects(), f"asset:{self.new_tag}")

    @override
    def handles(self) -> bool:
        """Say no: nobody needs the unit for that."""
        return False

    @override
    def happened(self, unit: "Unit", fact: "Fact", world: "World") -> "Unit":
        """Go on under the new tag."""
        return replace(unit, tag=self.new_tag)
