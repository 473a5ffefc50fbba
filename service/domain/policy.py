"""What a policy may say: the values each has, and where it holds."""

from collections.abc import Iterator
from typing import Annotated, Any, Final, Literal

from msgspec import Meta
from typing_extensions import override

from service.domain.value import FieldError, Value
from service.domain.words import Amount, Currency, Period, Reason, Ref

PolicyName = Literal[
    "thorough-examination",
    "pre-use-check",
    "cleaning",
    "scope",
    "acceptance",
    "service-level",
    "order-cap",
    "filter-life",
    "protection",
    "clock",
]

VALUES: Final[dict[str, tuple[str, ...]]] = {
    "thorough-examination": ("interval", "due_soon"),
    "pre-use-check": ("cover", "count", "in_use_recheck"),
    "cleaning": ("between_wearers",),
    "scope": ("in_store",),
    "acceptance": ("examination",),
    "service-level": ("level",),
    "order-cap": ("amount", "currency"),
    "filter-life": ("due_soon",),
    "protection": ("equality_suffices", "tasks_required", "confined_proven"),
    "clock": ("tolerance",),
}
"""The names of the values of each policy, as kinds.md lists them."""


class PolicyScope(Value, frozen=True, kw_only=True):
    """Where a policy holds: everywhere in the organisation, narrowed by a site, a model or both."""

    organisation: bool
    site: Ref | None = None
    model: Ref | None = None

    @override
    def wrong(self) -> Iterator[FieldError]:
        """Refuse a scope outside the organisation."""
        if not self.organisation:
            yield FieldError("organisation", "must be true: narrow the scope by site and model")


class ByUse(Value, frozen=True, kw_only=True):
    """A period for each use; one left out keeps the next wider policy's."""

    routine: Period | None = None
    occasional: Period | None = None
    emergency: Period | None = None
    escape: Period | None = None


class ConfinedProven(Value, frozen=True, kw_only=True):
    """Who answers for air-purifying units in confined spaces, and why (R32)."""

    person: Ref
    reason: Reason


class PolicyValues(Value, frozen=True, kw_only=True):
    """The values of all policies; a policy has those that VALUES lists for it."""

    interval: Period | ByUse | None = None
    due_soon: Period | None = None
    cover: Period | None = None
    count: Literal["working-days", "worn"] | None = None
    in_use_recheck: Period | None = None
    between_wearers: bool | None = None
    in_store: bool | None = None
    examination: bool | None = None
    level: Annotated[float, Meta(gt=0, lt=1)] | None = None
    amount: Amount | None = None
    currency: Currency | None = None
    equality_suffices: bool | None = None
    tasks_required: bool | None = None
    confined_proven: ConfinedProven | None = None
    tolerance: Period | None = None

    @override
    def wrong(self) -> Iterator[FieldError]:
        """Refuse a period of no length where time would stand still, and an amount without its currency."""
        for name in ("interval", "cover", "in_use_recheck"):
            yield from _zeros(name, getattr(self, name))
        if self.amount is not None and self.currency is None:
            yield FieldError("currency", "an amount needs its currency")

    def given(self) -> dict[str, Any]:
        """Give the values that are set, by name, in the order of the fields."""
        every = {name: getattr(self, name) for name in self.__struct_fields__}
        return {name: value for name, value in every.items() if value is not None}

    def others(self, policy: str) -> Iterator[FieldError]:
        """Refuse values that the policy does not have, as seen from the event."""
        for name in self.given():
            if name not in VALUES[policy]:
                yield FieldError(f"values/{name}", f"{policy} has no such value, only {', '.join(VALUES[policy])}")
        if not self.given():
            yield FieldError("values", f"needs a value: {', '.join(VALUES[policy])}")


def _zeros(name: str, value: str | ByUse | None) -> Iterator[FieldError]:
    """Refuse P0D and its like, alone or by use."""
    if isinstance(value, ByUse):
        for use in value.__struct_fields__:
            yield from _zeros(f"{name}/{use}", getattr(value, use))
    elif value is not None and not any(digit in value for digit in "123456789"):
        yield FieldError(name, "must be longer than nothing")
