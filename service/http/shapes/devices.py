"""The devices that post events."""

from typing import Annotated, Any, ClassVar

import msgspec
from msgspec import Meta

from service.domain.words import Counter, Instant, Ref
from service.http.shapes.moment import Paged
from service.http.shapes.words import Count, Many, Page, Seq, Seq0


class MissingNumbers(msgspec.Struct, frozen=True, kw_only=True):
    """Numbers that a device has given to events that have not come."""

    run: Seq
    first: Counter
    last: Counter


class RefusedNumbers(msgspec.Struct, frozen=True, kw_only=True):
    """Numbers that a device has given to events that came, and were not accepted."""

    run: Seq
    first: Counter
    last: Counter


class DeviceCounter(msgspec.Struct, frozen=True, kw_only=True):
    """How a device numbers its events."""

    first: Counter
    last: Counter
    missing_count: Counter
    missing: Annotated[tuple[MissingNumbers, ...], Meta(max_length=100)]
    refused_count: Count
    refused: Annotated[tuple[RefusedNumbers, ...], Meta(max_length=100)]
    repeats: Count
    resets: Count


class DeviceClock(msgspec.Struct, frozen=True, kw_only=True):
    """How far a device's clock is off."""

    offset_seconds: float | None
    samples: Annotated[int, Meta(ge=0, le=8)]
    tolerance_seconds: Annotated[float, Meta(ge=0)]
    suspect: bool


class Lateness(msgspec.Struct, frozen=True, kw_only=True):
    """How late the events of a device come."""

    median_seconds: float
    p95_seconds: float
    max_seconds: float


class DeviceLine(msgspec.Struct, frozen=True, kw_only=True):
    """A device that posts events."""

    device: Ref
    sites: Annotated[tuple[Ref, ...], Many]
    events: Seq0
    refused: Count
    first_contact: Instant
    last_contact: Instant
    last_event_at: Instant | None
    counter: DeviceCounter | None
    clock: DeviceClock
    lateness: Lateness | None


class DeviceList(Paged, frozen=True, kw_only=True):
    """Devices, by their names."""

    example: ClassVar[dict[str, Any]] = {
        "known_at": "2026-03-02T12:00:00Z",
        "judged_to": 48211,
        "devices": [
            {
                "device": "kiosk-3",
                "sites": ["harrow-dock"],
                "events": 1838,
                "refused": 1,
                "first_contact": "2025-03-01T06:02:10Z",
                "last_contact": "2026-03-02T05:51:42Z",
                "last_event_at": "2026-03-02T05:51:40Z",
                "counter": {
                    "first": 1,
                    "last": 1841,
                    "missing_count": 2,
                    "missing": [{"run": 1, "first": 1799, "last": 1800}],
                    "refused_count": 1,
                    "refused": [{"run": 1, "first": 1840, "last": 1840}],
                    "repeats": 0,
                    "resets": 0,
                },
                "clock": {"offset_seconds": 1.2, "samples": 8, "tolerance_seconds": 300.0, "suspect": False},
                "lateness": {"median_seconds": 2.5, "p95_seconds": 5400.0, "max_seconds": 171002.0},
            }
        ],
        "next": None,
    }

    known_at: Instant
    judged_to: Seq0
    devices: Annotated[tuple[DeviceLine, ...], Page]
