"""EPCIS documents against the published schema, with its formats."""

from collections.abc import Callable
from copy import deepcopy
from datetime import UTC, datetime
from typing import Any

import msgspec
from hypothesis import HealthCheck, given, reject, settings
from hypothesis import strategies as st

from service.domain.kinds import BY_NAME
from service.outbound.epcis.document import CLOSED, document, listed, opened
from service.outbound.epcis.drawn import drawn
from service.outbound.epcis.table import LEFT_OUT
from tests.domain.messages import messages
from tests.outbound.acts import NAMES, posted, told, whole
from tests.outbound.schema import faults

Json = dict[str, Any]
MOMENT = datetime(2026, 3, 3, tzinfo=UTC)
CHECKED = msgspec.to_builtins(document(NAMES, MOMENT, told("checked", outcome="passing")))


def test_every_kind_is_valid_under_the_published_schema() -> None:
    """Each kind's example makes a valid document, judged either way, taken back, and with GTINs of its items."""
    events = whole()

    assert {event["respirators:kind"] for event in events} == set(BY_NAME) - set(LEFT_OUT)
    assert faults(msgspec.to_builtins(document(NAMES, MOMENT, events))) == []


def test_a_document_in_pieces_is_valid_under_the_published_schema() -> None:
    """Written piece by piece, empty pieces too, it is the same document."""
    events = whole()
    pieces = [opened(NAMES, MOMENT), listed([], first=True), listed(events[:1], first=True), listed([], first=False)]
    written = b"".join([*pieces, listed(events[1:], first=False), CLOSED])

    assert msgspec.json.decode(written) == msgspec.to_builtins(document(NAMES, MOMENT, events))
    assert faults(msgspec.json.decode(written)) == []
    assert faults(msgspec.json.decode(opened(NAMES, MOMENT) + CLOSED)) == []


def test_anything_posted_is_valid_under_the_published_schema() -> None:
    """Whatever a message of a kind may say, lots in any script and offsets of any size, its document is valid."""
    found: list[Json] = []

    @settings(max_examples=150, derandomize=True, database=None, deadline=None, suppress_health_check=list(HealthCheck))
    @given(st.data())
    def collect(data: st.DataObject) -> None:
        kind = data.draw(st.sampled_from(sorted(set(BY_NAME) - set(LEFT_OUT))))
        try:
            act = posted(data.draw(messages(BY_NAME[kind])))
        except msgspec.ValidationError:
            reject()
        found.extend(drawn(act, NAMES))

    collect()
    assert len(found) > 100
    assert faults(msgspec.json.decode(msgspec.json.encode(document(NAMES, MOMENT, found)))) == []


def bent(change: Callable[[Json], object]) -> list[str]:
    """Change the event of a valid document, and say what the schema has against it."""
    wrong = deepcopy(CHECKED)
    change(wrong["epcisBody"]["eventList"][0])
    return faults(wrong)


def test_the_published_schema_bites() -> None:
    """What is wrong is told: an unknown word, a time without offset, a missing member, a member without prefix."""
    assert bent(dict) == []
    assert bent(lambda event: event.update(bizStep="quarantining"))
    assert bent(lambda event: event.update(eventTime="2026-03-02T05:51:40"))
    assert bent(lambda event: event.pop("action"))
    assert bent(lambda event: event.pop("eventTimeZoneOffset"))
    assert bent(lambda event: event.update(foo=1))
    assert bent(lambda event: event.update(epcList=["nope"]))
    assert bent(lambda event: event.update(disposition="broken"))
