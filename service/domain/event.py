"""What every event has, and the families of kinds.

Only the envelope and the order of kinds may live here; each kind's own fields stand in its file of kinds/.
"""

import re
from collections.abc import Iterator
from datetime import date, timedelta
from typing import TYPE_CHECKING, Any, ClassVar, Final, Literal
from uuid import UUID

import msgspec
from typing_extensions import override

from service.domain.value import FieldError, refuse_wrong
from service.domain.words import Counter, Expiry, Instant, Label, Quantity, Reason, Ref, Tag, Text

if TYPE_CHECKING:
    from service.domain.conflict import Conflict
    from service.domain.facts import Fact
    from service.domain.kinds.model_defined import ModelDefined
    from service.domain.unit import Unit
    from service.domain.world import World

Family = Literal["asset", "person", "stock", "order", "recall", "reference", "other"]

RANKS: Final = (
    "reference data",
    "person kinds",
    "registered",
    "retagged",
    "use-set",
    "found",
    "received",
    "returned",
    "part-identified",
    "part-replaced",
    "filter-replaced",
    "cleaned",
    "repaired",
    "examined",
    "checked",
    "recall-actioned",
    "released",
    "issued",
    "stationed",
    "worn",
    "the rest",
)
"""Kind ranks in R2's order: at one instant and polarity, the earlier in this table folds first."""


def kebab(name: str) -> str:
    """Turn a class name into a kind's name: FailedCheck into failed-check."""
    return re.sub(r"(?<!^)(?=[A-Z])", "-", name).lower()


def rank_of(kind: str, family: Family) -> int:
    """Give the place of a kind in R2's order."""
    group = {"reference": "reference data", "person": "person kinds"}.get(family, kind)
    return RANKS.index(group if group in RANKS else "the rest")


class Event(
    msgspec.Struct,
    gc=False,
    frozen=True,
    kw_only=True,
    forbid_unknown_fields=True,
    omit_defaults=True,
    tag_field="kind",
    tag=kebab,
):
    """A claim that something happened.

    `version` is the kind's, `rank` its place in R2's order, `kept_out` the paths of free text that stays out of the
    log, `example` a complete posted message.
    """

    kind: ClassVar[str]
    family: ClassVar[Family] = "other"
    version: ClassVar[int] = 1
    rank: ClassVar[int]
    kept_out: ClassVar[tuple[str, ...]] = ("remark",)
    example: ClassVar[dict[str, Any]]

    id: UUID
    occurred_at: Instant | None = None
    occurred_on: date | None = None
    by: Ref
    site: Ref | None = None
    device: Ref | None = None
    device_seq: Counter | None = None
    sent_at: Instant | None = None
    remark: Text | None = None

    @override
    def __init_subclass__(cls) -> None:
        """Name the kind and place it in R2's order."""
        cls.kind = kebab(cls.__name__)
        cls.rank = rank_of(cls.kind, cls.family)

    def __post_init__(self) -> None:
        """Check what the types cannot say. FieldError names the field."""
        refuse_wrong(self)

    def wrong(self) -> Iterator[FieldError]:
        """Give what is wrong between fields. Every class tells its own alone; all of them are asked."""
        if self.occurred_at is None and self.occurred_on is None:
            yield FieldError("occurred_at", "one of occurred_at and occurred_on is needed")
        if self.occurred_at is not None and self.occurred_on is not None:
            yield FieldError("occurred_on", "only one of occurred_at and occurred_on may be given")

    def adverse(self) -> bool:
        """Say whether this is bad news, by the kind and the sender's own content alone (R1)."""
        return False

    def subjects(self) -> tuple[str, ...]:
        """Name what the event is about, as "asset:FX-0142"; the first is the main one."""
        raise NotImplementedError  # pragma: no cover - every family or kind says it

    def earliest_day(self) -> date:
        """Give the earliest day it can be where the event happened, whatever that place's zone."""
        if self.occurred_on is not None:
            return self.occurred_on
        if self.occurred_at is None:  # pragma: no cover - __post_init__ refuses it
            raise FieldError("occurred_at", "is needed")
        return self.occurred_at.date() - timedelta(days=1)

    def lasts_to(self, field: str) -> Iterator[FieldError]:
        """Refuse a last day that lies before the event."""
        last, dated = getattr(self, field), self.occurred_at is not None or self.occurred_on is not None
        if last is not None and dated and last < self.earliest_day():
            yield FieldError(field, "must not lie before the event")


class AssetEvent(Event, frozen=True, kw_only=True):
    """Something that happened to one unit.

    `names` says that it settles what the unit is called, which counts even after its retirement, `revives` that it may
    end one, `wants_ready` that the unit should be ready for it, `disposes` that it is an act of authority at a desk;
    `after_retirement` is the conflict with a retirement.
    """

    family: ClassVar[Family] = "asset"
    names: ClassVar[bool] = False
    revives: ClassVar[bool] = False
    wants_ready: ClassVar[bool] = False
    disposes: ClassVar[bool] = False
    after_retirement: ClassVar[str] = "while-retired"
    asset: Tag

    @override
    def subjects(self) -> tuple[str, ...]:
        """Name the unit."""
        return (f"asset:{self.asset}",)

    def handles(self) -> bool:
        """Say whether somebody had the unit in hand: a missing one is found then."""
        return True

    def shows_site(self) -> bool:
        """Say whether it is done by hand at the unit, so that another site than its own contradicts it."""
        return self.handles()

    def happened(self, unit: "Unit", fact: "Fact", world: "World") -> "Unit":
        """Give the unit after this happened to it."""
        raise NotImplementedError  # pragma: no cover - every family or kind says it

    def contradicts(self, unit: "Unit", fact: "Fact", world: "World") -> "tuple[Conflict, ...]":
        """Say what of this contradicts the unit's history before it."""
        del unit, fact, world
        return ()

    def claims_to_pass(self) -> bool:
        """Say whether its sender says of the unit that it passed."""
        return False

    def fails(self, model: "ModelDefined | None") -> bool:
        """Say whether it is bad news for the unit, if only by its readings: that stays even where it is voided."""
        del model
        return self.adverse()


class PersonEvent(Event, frozen=True, kw_only=True):
    """Something about what one person may do."""

    family: ClassVar[Family] = "person"
    person: Ref

    @override
    def subjects(self) -> tuple[str, ...]:
        """Name the person."""
        return (f"person:{self.person}",)


class StockEvent(Event, frozen=True, kw_only=True):
    """A quantity of one item at one site."""

    family: ClassVar[Family] = "stock"
    site: Ref
    item: Ref
    quantity: Quantity
    unit: Ref
    lot: Label | None = None
    expires: Expiry | None = None

    @override
    def subjects(self) -> tuple[str, ...]:
        """Name the item and the site."""
        return (f"item:{self.item}", f"site:{self.site}")


class OrderEvent(Event, frozen=True, kw_only=True):
    """A step of an order to a supplier."""

    family: ClassVar[Family] = "order"


class RecallEvent(Event, frozen=True, kw_only=True):
    """A step of a recall."""

    family: ClassVar[Family] = "recall"
    recall: Ref

    @override
    def subjects(self) -> tuple[str, ...]:
        """Name the recall."""
        return (f"recall:{self.recall}",)


class ReferenceEvent(Event, frozen=True, kw_only=True):
    """A version of reference data, in force from a moment of its own (R5).

    `not_judged` names the fields that no unit is judged by: what only people and buyers read.
    """

    not_judged: ClassVar[tuple[str, ...]] = ("name",)
    family: ClassVar[Family] = "reference"
    kept_out: ClassVar[tuple[str, ...]] = ("remark", "reason")
    effective_from: Instant | None = None
    correction: bool = False
    reason: Reason | None = None

    @override
    def wrong(self) -> Iterator[FieldError]:
        """Demand what a correction needs: since when, and why."""
        if self.correction and self.effective_from is None:
            yield FieldError("effective_from", "a correction says since when it holds")
        if self.correction and self.reason is None:
            yield FieldError("reason", "a correction needs a reason")
