"""A site as it is from a moment on."""

from collections.abc import Iterator
from datetime import date
from typing import Annotated, Any, ClassVar, Literal

from msgspec import Meta, field
from typing_extensions import override

from service.domain.event import ReferenceEvent
from service.domain.sample import sample
from service.domain.value import FieldError, Value, each_once, in_order
from service.domain.words import MANY, Address, Clock, Jurisdiction, Label, Period, Ref, Zone

Weekday = Literal["mon", "tue", "wed", "thu", "fri", "sat", "sun"]


class Employer(Value, frozen=True, kw_only=True):
    """The employer an examination's record names (L5 6th ed 2013 para 184)."""

    name: Label
    address: Address


class Closing(Value, frozen=True, kw_only=True):
    """Days on which nobody works, both ends included."""

    from_: date = field(name="from")
    to: date

    @override
    def wrong(self) -> Iterator[FieldError]:
        """Refuse an end before its start."""
        yield from in_order(self, "from_", "to")


class Shift(Value, frozen=True, kw_only=True):
    """When a shift starts, by the site's clock, and how long it lasts: "22:00" and "PT8H" ends on the next day."""

    name: Ref
    starts: Clock
    lasts: Period


class Calendar(Value, frozen=True, kw_only=True):
    """When people work. Without shifts the whole day is one."""

    working_days: Annotated[tuple[Weekday, ...], Meta(max_length=7)]
    closed: Annotated[tuple[Closing, ...], Meta(max_length=MANY)] = ()
    shifts: Annotated[tuple[Shift, ...], Meta(max_length=MANY)] = ()

    @override
    def wrong(self) -> Iterator[FieldError]:
        """Refuse a weekday or a shift named twice."""
        yield from each_once("working_days", self.working_days)
        yield from each_once("shifts", (shift.name for shift in self.shifts), "name")


class SiteDefined(ReferenceEvent, frozen=True, kw_only=True):
    """The rules, the clock and the working days of a site."""

    not_judged: ClassVar[tuple[str, ...]] = ("name", "region", "employer")
    example: ClassVar[dict[str, Any]] = sample(
        "site-defined",
        {
            "effective_from": "2026-03-02T00:00:00+00:00",
            "correction": True,
            "reason": "opened before the records began",
            "site": "harrow-dock",
            "name": "Harrow Dock",
            "region": "north",
            "profile": "uk",
            "time_zone": "Europe/London",
            "employer": {"name": "Harrow Fabrication", "address": "1 Dock Road\nHarrow Dock"},
            "calendar": {
                "working_days": ["mon", "tue", "wed", "thu", "fri"],
                "closed": [{"from": "2026-12-24", "to": "2027-01-03"}],
                "shifts": [
                    {"name": "day", "starts": "06:00", "lasts": "PT8H"},
                    {"name": "night", "starts": "22:00", "lasts": "PT8H"},
                ],
            },
            "opened_on": "2024-01-08",
            "closed_on": "2031-12-31",
        },
    )

    site: Ref
    name: Label
    region: Label | None = None
    profile: Jurisdiction
    time_zone: Zone
    employer: Employer
    calendar: Calendar
    opened_on: date | None = None
    closed_on: date | None = None

    @override
    def wrong(self) -> Iterator[FieldError]:
        """Refuse a closing before the opening."""
        yield from in_order(self, "opened_on", "closed_on")

    @override
    def subjects(self) -> tuple[str, ...]:
        """Name the site."""
        return (f"site:{self.site}",)
