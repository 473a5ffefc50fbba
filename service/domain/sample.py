"""The envelope of the kinds' examples, so that each shows only its own fields."""

from typing import Any, Final
from uuid import UUID, uuid5

NAMESPACE: Final = UUID("6f1c6a0e-2f0b-5f57-9a53-0b7d3f2f8c11")
"""Makes a steady id of each kind's name."""


def sample(kind: str, fields: dict[str, Any]) -> dict[str, Any]:
    """Give a complete posted message of a kind, every field of the envelope used."""
    return {
        "id": str(uuid5(NAMESPACE, kind)),
        "kind": kind,
        "occurred_at": "2026-03-02T05:51:40+00:00",
        "by": "p-3071",
        "site": "harrow-dock",
        "device": "kiosk-3",
        "device_seq": 1841,
        "sent_at": "2026-03-02T05:51:41+00:00",
        "remark": "entered at the gate",
        **fields,
    }
