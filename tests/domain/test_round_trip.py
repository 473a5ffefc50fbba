"""What holds for any message of any kind, and for anything at all that is sent in its place."""

import json
import math
from functools import reduce
from typing import Any

import msgspec
import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from service.domain.codec import decode, decode_stored, encode, reveal, seal
from service.domain.errors import Malformed, NotJson
from service.domain.event import Event
from service.domain.kinds import KINDS
from tests.domain.messages import messages

NUMBERS = [True, False, 0, -1, 1.5, -0.0, 2**63, 10**40, math.nan, math.inf]
TEXTS = ["", "x", "\x00", "\ud800", "a\n", "٣", "P", "P1M", "NaN", "sNaN", "1E+999999999"]
DATES = ["0001-01-01", "9999-12-31", "9999-12", "0000-01", "2026-02-30"]
INSTANTS = ["0001-01-01T00:00:00+14:00", "9999-12-31T23:59:59.9999999-23:59", "2016-12-31T23:59:60Z"]
LISTS = [[], [[]], [None], [{"point": "a"}], ["x"] * 101]
OBJECTS = [{}, {"": 1}, {"/~": {"~": 1}}, {"a": "pass"}, {"a b": "pass"}, {"x": {"y": ["z"]}}]
JUNK = st.sampled_from([None, *NUMBERS, *TEXTS, *DATES, *INSTANTS, *LISTS, *OBJECTS])
"""Values that are wrong nearly everywhere."""

COINCIDENCES = ("is named twice", "is the tag it has already", "an event cannot void itself")
"""What is wrong with a message only because two names were drawn alike."""

quick = settings(max_examples=8, deadline=None, suppress_health_check=[HealthCheck.too_slow])


def decoded(message: dict[str, Any]) -> Event:
    """Read a message, or draw another where names were drawn alike that must differ."""
    try:
        return decode(msgspec.json.encode(message))
    except Malformed as refused:
        assume(not refused.detail.endswith(COINCIDENCES))
        raise


@pytest.mark.parametrize("kind", KINDS, ids=lambda kind: kind.kind)
@quick
@given(st.data())
def test_any_event_survives_the_way_to_the_log_and_back(kind: type[Event], data: st.DataObject) -> None:
    """Encoding keeps everything, the sender's order and spacing change no byte, sealing loses only `sent_at`."""
    message = data.draw(messages(kind))
    event = decoded(message)
    assert decode(encode(event)) == event
    shuffled = dict(data.draw(st.permutations(list(message.items()))))
    assert encode(decode(json.dumps(shuffled, indent=2).encode())) == encode(event)
    sealed, texts = seal(event, b"k" * 32)
    stored = decode_stored(encode(sealed), kind.kind, kind.version)
    assert stored == sealed
    assert reveal(stored, texts) == msgspec.structs.replace(event, sent_at=None)


def places(value: Any, way: tuple[str | int, ...] = ()) -> list[tuple[str | int, ...]]:
    """Give the way to every value in a message."""
    entries: list[tuple[str | int, Any]] = []
    if isinstance(value, dict):
        entries = list(value.items())
    elif isinstance(value, list):
        entries = list(enumerate(value))
    return [way, *(place for step, inner in entries for place in places(inner, (*way, step)))]


def unescaped(step: str) -> str:
    """Read a step of a JSON pointer (RFC 6901 section 4)."""
    return step.replace("~1", "/").replace("~0", "~")


def replaced(value: Any, way: tuple[str | int, ...], junk: Any) -> Any:
    """Give the message with junk in one place."""
    if not way:
        return junk
    changed = value.copy()
    changed[way[0]] = replaced(value[way[0]], way[1:], junk)
    return changed


@pytest.mark.parametrize("kind", KINDS, ids=lambda kind: kind.kind)
@quick
@given(st.data())
def test_junk_in_any_place_is_refused_in_words_or_harmless(kind: type[Event], data: st.DataObject) -> None:
    """No other error ever leaves the decoder, and a pointer leads to something or to what is missing in it."""
    way = data.draw(st.sampled_from(places(kind.example)))
    raw = json.dumps(replaced(kind.example, way, data.draw(JUNK))).encode()
    try:
        event = decode(raw)
    except NotJson:
        return
    except Malformed as refused:
        whole, steps = json.loads(raw), refused.pointer.split("/")[1:-1]
        reached = reduce(lambda at, step: at[int(step)] if isinstance(at, list) else at[unescaped(step)], steps, whole)
        if not isinstance(reached, dict | list) and steps:
            pytest.fail(f"{refused.pointer} leads nowhere")
        return
    assert decode(encode(event)) == event


@quick
@given(st.binary(max_size=200))
def test_bytes_of_any_kind_are_refused_in_words(raw: bytes) -> None:
    """Either no JSON text or no event."""
    with pytest.raises((NotJson, Malformed)):
        decode(raw)


@settings(max_examples=100, deadline=None)
@given(st.data())
def test_a_message_with_some_bytes_changed_is_refused_in_words_or_read(data: st.DataObject) -> None:
    """Whatever a bad line does to a message on its way."""
    raw = bytearray(msgspec.json.encode(data.draw(st.sampled_from(KINDS)).example))
    for _ in range(data.draw(st.integers(1, 3))):
        raw[data.draw(st.integers(0, len(raw) - 1))] = data.draw(st.integers(0, 255))
    try:
        event = decode(bytes(raw))
    except (NotJson, Malformed):
        return
    assert decode(encode(event)) == event
