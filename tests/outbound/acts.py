"""Acts of an invented firm, made of the kinds' own examples."""

from datetime import UTC, datetime
from typing import Any
from uuid import UUID

import msgspec

from service.domain.kinds import BY_NAME, AnyEvent
from service.domain.recorded import Recorded
from service.outbound.epcis.act import Act
from service.outbound.epcis.drawn import drawn
from service.outbound.epcis.names import names

FIRM = UUID("11111111-1111-4111-8111-111111111111")
ROOT = f"https://id.example.com/{FIRM}"
NAMES = names("https://id.example.com", FIRM)
UNIT = UUID("22222222-2222-4222-8222-222222222222")
RECORDED = datetime(2026, 3, 2, 5, 51, 42, tzinfo=UTC)
Json = dict[str, Any]


def act(kind: str, said: Json | None = None, **known: Any) -> Act:
    """Give a kind's example, some of it said otherwise, as an act at harrow-dock; None takes a member away."""
    fields = {name: value for name, value in (BY_NAME[kind].example | (said or {})).items() if value is not None}
    return posted(fields, **known)


def posted(message: Json, **known: Any) -> Act:
    """Give a message as an act at harrow-dock."""
    event = msgspec.convert(message, AnyEvent)
    row = Recorded(event=event, organisation=FIRM, seq=7, received_at=RECORDED, recorded_at=RECORDED, key=UUID(int=3))
    usual: Json = {"recorded": row, "at": event.occurred_at or RECORDED, "site": "harrow-dock"}
    return Act(**(usual | ({"unit": UNIT} if event.family == "asset" else {}) | known))


def told(kind: str, said: Json | None = None, **known: Any) -> list[Json]:
    """Draw the events that tell of an act."""
    return list(drawn(act(kind, said, **known), NAMES))


def whole() -> list[Json]:
    """Draw everything that there is: each kind's example, as it is and however it is judged, and taken back."""
    ways: list[Json] = [
        {},
        {"outcome": "passing"},
        {"outcome": "failing", "withdraws": True},
        {"voided_at": RECORDED, "gtins": {"pf-170": "9521101530018", "bat-64": "96385074"}},
    ]
    return [event for kind in BY_NAME for way in ways for event in told(kind, **way)]
