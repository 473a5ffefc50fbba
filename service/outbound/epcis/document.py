"""The document around EPCIS events (JSON-LD), whole or in pieces as they are drawn."""

from collections.abc import Iterable
from datetime import UTC, datetime

import msgspec

from service.outbound.epcis.names import PREFIX, Names

Json = dict[str, object]

CONTEXT = "https://ref.gs1.org/standards/epcis/2.0.0/epcis-context.jsonld"
"""Named, never fetched."""
CLOSED = b"]}}"


def document(names: Names, created: datetime, events: Iterable[Json]) -> Json:
    """Give a document of events; `created` is the moment whose knowledge they tell."""
    return {
        "@context": [CONTEXT, {PREFIX: names.term("")}],
        "type": "EPCISDocument",
        "schemaVersion": "2.0",
        "creationDate": created.astimezone(UTC).isoformat(),
        "epcisBody": {"eventList": list(events)},
    }


def opened(names: Names, created: datetime) -> bytes:
    """Write a document up to its first event; `listed` and CLOSED follow."""
    return msgspec.json.encode(document(names, created, ())).removesuffix(CLOSED)


def listed(events: Iterable[Json], *, first: bool) -> bytes:
    """Write events of a document that is open, the first of all or those behind others."""
    written = [msgspec.json.encode(event) for event in events]
    return b"" if not written else (b"" if first else b",") + b",".join(written)
