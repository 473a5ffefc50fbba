"""Who has a unit."""

from collections.abc import Iterator

from typing_extensions import override

from service.domain.value import FieldError, Value
from service.domain.words import Ref


class Holder(Value, frozen=True, kw_only=True):
    """Exactly one of a person, a crew, a vehicle and a place."""

    person: Ref | None = None
    crew: Ref | None = None
    vehicle: Ref | None = None
    place: Ref | None = None

    @override
    def wrong(self) -> Iterator[FieldError]:
        """Refuse none and several. FieldError at the holder, or at the second that is given."""
        given = [name for name in ("person", "crew", "vehicle", "place") if getattr(self, name) is not None]
        if not given:
            yield FieldError("", "one of person, crew, vehicle and place is needed")
        if len(given) > 1:
            yield FieldError(given[1], "only one of person, crew, vehicle and place may be given")
