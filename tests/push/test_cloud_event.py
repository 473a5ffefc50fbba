from datetime import UTC, datetime
from typing import Any
from uuid import UUID

import msgspec
import pytest
from cloudevents.core.bindings.http import HTTPMessage, from_structured_event
from cloudevents.core.formats.json import JSONFormat

from service.domain.codec import decode_stored, encode
from service.domain.event import Event
from service.domain.kinds import KINDS
from service.domain.recorded import Recorded
from service.pushing.cloud_event import MEDIA, cloud_event, trial
from tests.http.contract import validator

ORGANISATION = UUID("0198c1f2-0000-7000-8000-000000000001")
NOON = datetime(2026, 3, 2, 12, tzinfo=UTC)


def recorded(kind: type[Event], **changes: Any) -> Recorded:
    """Give the example of a kind as it is recorded."""
    event = msgspec.convert(kind.example | changes, kind)
    return Recorded(
        event=event,
        organisation=ORGANISATION,
        seq=48211,
        received_at=NOON,
        recorded_at=NOON,
        sent_at=None,
        key=ORGANISATION,
        imported=False,
    )


@pytest.mark.parametrize("kind", KINDS)
def test_the_sdk_reads_every_kind(kind: type[Event]) -> None:
    """The SDK of CloudEvents reads each kind as a valid event with the data as shown, and it is as it is described."""
    shown = kind.example | {"seq": 48211, "recorded_at": NOON.isoformat(), "received_at": NOON.isoformat()}
    shown |= {"sent_at": None}
    body = cloud_event(recorded(kind), shown)
    described = validator("#/components/schemas/CloudEvent").iter_errors(msgspec.json.decode(body))
    assert [error.message for error in described] == []
    read = from_structured_event(HTTPMessage(headers={"content-type": MEDIA}, body=body), JSONFormat())
    assert read.get_specversion() == "1.0"
    assert read.get_id() == kind.example["id"]
    assert read.get_source() == "urn:uuid:0198c1f2-0000-7000-8000-000000000001"
    assert read.get_type() == f"respirator-ledger.{kind.kind}.v1"
    assert read.get_datacontenttype() == "application/json"
    assert read.get_data() == shown
    assert read.get_extension("sequence") == "00000000000000048211"


def test_an_event_says_when_it_happened_and_what_it_is_about() -> None:
    """`time` is when it happened, `recordedtime` when it was recorded, `subject` its main subject."""
    checked = next(kind for kind in KINDS if kind.kind == "checked")
    told = msgspec.json.decode(cloud_event(recorded(checked), {}))
    assert told["subject"] == "asset:FX-0142"
    assert told["time"] == "2026-03-02T05:51:40Z"
    assert told["recordedtime"] == "2026-03-02T12:00:00Z"


def test_a_day_alone_is_no_time() -> None:
    """An event that happened on a day, nobody knows when, has no `time`."""
    kind = next(kind for kind in KINDS if kind.kind == "retired")
    said = {name: value for name, value in kind.example.items() if name != "occurred_at"}
    event = msgspec.convert(said | {"occurred_on": "2026-03-02"}, kind)
    row = msgspec.structs.replace(recorded(kind), event=decode_stored(encode(event), kind.kind, 1))
    assert "time" not in msgspec.json.decode(cloud_event(row, {}))


def test_the_sdk_reads_a_trial() -> None:
    """What a receiver is tried with is a valid event, too, of a type of its own."""
    body = trial(ORGANISATION, ORGANISATION, ORGANISATION, NOON)
    read = from_structured_event(HTTPMessage(headers={"content-type": MEDIA}, body=body), JSONFormat())
    assert read.get_type() == "respirator-ledger.test.v1"
    assert read.get_time() == NOON
