"""What was scanned."""

from datetime import date
from typing import Annotated, Any, ClassVar

import msgspec
from msgspec import Meta

from service.assessing.scans import SHOWN
from service.domain.scan.reading import MOST_ELEMENTS, Form
from service.domain.standing import Standing
from service.domain.unit import Phase
from service.domain.words import Expiry, Gtin, Label, Ref, Tag
from service.http.scans import LONGEST_SCAN, MOST_SCANS
from service.http.shapes.moment import AtMoments
from service.http.shapes.words import Reasons, Sentence

Few = Meta(max_length=SHOWN)
Read = Annotated[str, Meta(max_length=LONGEST_SCAN)]
Matched = Annotated[str, Meta(max_length=40, examples=["tag", "serial", "part-serial", "part-lot"])]


class ScanElement(msgspec.Struct, frozen=True, kw_only=True):
    """One identifier of a code, with its value."""

    identifier: Annotated[str, Meta(max_length=4)]
    title: Annotated[str, Meta(max_length=100)]
    value: Read
    day: date | None


class ScannedItem(msgspec.Struct, frozen=True, kw_only=True):
    """An item that a scan may name."""

    item: Ref
    name: Label
    gtin: Gtin | None
    part_number: Label | None


class ScannedPart(msgspec.Struct, frozen=True, kw_only=True):
    """The part that a unit was found by."""

    item: Ref
    lot: Label | None
    serial: Label | None
    expires: Expiry | None


class ScannedAsset(msgspec.Struct, frozen=True, kw_only=True):
    """A unit that a scan may be of."""

    matched: Matched
    tag: Tag
    model: Ref
    serial: Label
    site: Ref
    phase: Phase
    standing: Standing
    do_not_use: bool
    reasons: Reasons
    position: Ref | None
    part: ScannedPart | None


class ScannedStock(msgspec.Struct, frozen=True, kw_only=True):
    """Spare stock of the lot that a scan says."""

    site: Ref
    item: Ref
    lot: Label
    expires: Expiry | None
    quantity: Annotated[float, Meta(ge=0)]
    unit: Ref


class ScanFault(msgspec.Struct, frozen=True, kw_only=True):
    """What is wrong with a scan."""

    detail: Sentence
    pointer: Annotated[str, Meta(max_length=100)]


class ScanResult(msgspec.Struct, frozen=True, kw_only=True):
    """What one scan says, and what it is."""

    form: Form
    gtin: Annotated[str, Meta(max_length=14, pattern="^[0-9]{14}$")] | None
    part_number: Read | None
    lot: Read | None
    serial: Read | None
    expires: date | None
    elements: Annotated[tuple[ScanElement, ...], Meta(max_length=MOST_ELEMENTS)]
    item: Ref | None
    items: Annotated[tuple[ScannedItem, ...], Few]
    assets: Annotated[tuple[ScannedAsset, ...], Few]
    stock: Annotated[tuple[ScannedStock, ...], Few]
    more: bool
    errors: Annotated[tuple[ScanFault, ...], Meta(max_length=1000)]


class Scans(AtMoments, frozen=True, kw_only=True):
    """What was scanned, scan by scan."""

    example: ClassVar[dict[str, Any]] = {
        "scans": [
            {
                "form": "gs1-element-string",
                "gtin": "09521101530018",
                "part_number": None,
                "lot": "L2411",
                "serial": None,
                "expires": "2029-05-31",
                "elements": [
                    {"identifier": "01", "title": "GTIN", "value": "09521101530018", "day": None},
                    {"identifier": "17", "title": "USE BY or EXPIRY", "value": "290531", "day": "2029-05-31"},
                    {"identifier": "10", "title": "BATCH/LOT", "value": "L2411", "day": None},
                ],
                "item": "pf-170",
                "items": [
                    {
                        "item": "pf-170",
                        "name": "Particle filter 170",
                        "gtin": "9521101530018",
                        "part_number": "170-220",
                    }
                ],
                "assets": [
                    {
                        "matched": "part-lot",
                        "tag": "FX-0142",
                        "model": "northwind-2",
                        "serial": "NW2-004417",
                        "site": "harrow-dock",
                        "phase": "issued",
                        "standing": "in-date",
                        "do_not_use": False,
                        "reasons": [],
                        "position": "particle-filter",
                        "part": {"item": "pf-170", "lot": "L2411", "serial": "PF-93", "expires": "2029-05-31"},
                    }
                ],
                "stock": [
                    {
                        "site": "harrow-dock",
                        "item": "pf-170",
                        "lot": "L2411",
                        "expires": "2029-05",
                        "quantity": 12.0,
                        "unit": "each",
                    }
                ],
                "more": False,
                "errors": [],
            }
        ],
        "as_at": "2026-03-02T12:00:00Z",
        "known_at": "2026-03-02T12:00:00Z",
        "judged_to": 48211,
        "rules_to": 47002,
        "projection": False,
    }

    scans: Annotated[tuple[ScanResult, ...], Meta(max_length=MOST_SCANS)]
