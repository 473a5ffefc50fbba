"""Between bytes and events: posted messages, stored bodies, and the text that stays out of the log.

A body is deterministic: fields in the order of the kind, objects by key, nothing that has its default. So equal content
is equal bytes, whatever order or spacing a sender chose (decision 2). A message in which a member stands twice in an
object is none: readers differ about which counts (RFC 8259 section 4).
"""

import base64
import hmac
import re
from collections.abc import Callable
from functools import cache
from typing import Any, Final, TypeVar

import msgspec

from service.domain.doubled import doubled
from service.domain.errors import Malformed, NotJson
from service.domain.event import Event
from service.domain.faults import faults
from service.domain.kinds import BY_NAME, AnyEvent
from service.domain.pointer import fault
from service.domain.unsaid import refuse_unsaid

Upcaster = Callable[[dict[str, Any]], dict[str, Any]]

UPCASTERS: Final[dict[tuple[str, int], Upcaster]] = {}
"""By (kind, version): turns a parsed body of that version into one of the next. Empty while every kind is version 1."""

SEALED: Final = "hmac-sha256:"
"""Begins what stands in a body in the place of free text."""

_POSTED: Final[msgspec.json.Decoder[Event]] = msgspec.json.Decoder(AnyEvent)
_BYTE: Final = re.compile(r"\(byte ([0-9]+)\)")
_ENCODER: Final = msgspec.json.Encoder(order="deterministic")

LOOKED_INTO: Final = 256 * 1024
"""Bytes up to which a message is searched for doubled members before it is known to be an event."""

E = TypeVar("E", bound=Event)


def decode(raw: bytes | msgspec.Raw) -> Event:
    """Read a posted message. NotJson if it is no JSON text in UTF-8; Malformed, with the place, if it is no event."""
    text = bytes(raw)
    if len(text) <= LOOKED_INTO:
        refuse_doubled(text)
        event = _read(text, _POSTED, AnyEvent)
    else:
        event = _read(text, _POSTED, AnyEvent)
        refuse_doubled(text)
    refuse_unsaid(event, text)
    return event


def refuse_doubled(raw: bytes) -> None:
    """Raise Malformed at a member that stands twice in one object."""
    twice = doubled(raw)
    if twice is not None:
        raise Malformed(twice, "stands twice in its object: send it once, so that nobody can read it two ways")


def decode_stored(body: bytes, kind: str, version: int) -> Event:
    """Read a stored body, brought to the kind's current version. Malformed or NotJson only if it was tampered with."""
    current = BY_NAME[kind]
    if version == current.version:
        return _read(body, _stored(kind), current)
    parsed = msgspec.json.decode(body)
    for step in range(version, current.version):
        parsed = UPCASTERS[kind, step](parsed)
    return _read(msgspec.json.encode(parsed), _stored(kind), current)


def encode(event: Event) -> bytes:
    """Write an event as the log stores it."""
    return _ENCODER.encode(event)


def seal(event: E, key: bytes) -> tuple[E, dict[str, str]]:
    """Take the free text out of an event, and `sent_at`, which belongs to the message (R8).

    In the place of each text stands its HMAC-SHA-256 under the key (RFC 2104), so that while the text is kept it can be
    proved, and once it is erased it cannot be guessed. Gives the texts by their place ("remark", "defects[0].found").
    The same key seals the same text alike: a repeat is compared under the key of the first.
    """
    texts: dict[str, str] = {}

    def keep(place: str, text: str) -> str:
        texts[place] = text
        return sealed_text(text, key)

    bare = event if event.sent_at is None else msgspec.structs.replace(event, sent_at=None)
    return _with_texts(bare, keep), texts


def sealed_text(text: str, key: bytes) -> str:
    """Give what stands in a body for a text."""
    digest = hmac.digest(key, text.encode(), "sha256")
    return SEALED + base64.urlsafe_b64encode(digest).rstrip(b"=").decode()


def reveal(event: E, texts: dict[str, str]) -> E:
    """Put the texts that are still kept back into a sealed event; an erased one stays sealed."""
    return _with_texts(event, texts.get)


@cache
def _stored(kind: str) -> msgspec.json.Decoder[Event]:
    return msgspec.json.Decoder(BY_NAME[kind])


def _read(raw: bytes | msgspec.Raw, decoder: msgspec.json.Decoder[Event], wanted: Any) -> Event:  # noqa: ANN401 -- a type
    try:
        return decoder.decode(raw)
    except msgspec.ValidationError as error:
        raise malformed(error, raw, wanted) from error
    except (msgspec.DecodeError, UnicodeDecodeError) as error:
        raise not_json(error) from error
    except RecursionError as error:
        raise Malformed("", "nested deeper than any event") from error


def malformed(error: msgspec.ValidationError, raw: bytes | msgspec.Raw, wanted: Any) -> Malformed:  # noqa: ANN401 -- a type
    """Give the error of a JSON text that is not as wanted, with every fault. NotJson or Malformed if it is none."""
    _demand_json(raw)
    try:
        return Malformed.of(faults(error, msgspec.json.decode(raw), wanted))
    except msgspec.ValidationError:  # a number that is JSON, but beyond any float, cannot be looked behind
        return Malformed(*fault(error, dict, lambda parsed: msgspec.convert(parsed, wanted)))


def _demand_json(raw: bytes | msgspec.Raw) -> None:
    """Read on where the decoder gave up: what is no JSON further on is no JSON at all. NotJson or Malformed."""
    try:
        msgspec.json.decode(raw)
    except msgspec.ValidationError:  # a number that is JSON, but beyond any float
        return
    except (msgspec.DecodeError, UnicodeDecodeError) as error:
        raise not_json(error) from error
    except RecursionError as error:
        raise Malformed("", "nested deeper than any event") from error


def not_json(error: Exception) -> NotJson:
    """Say where a text stops being JSON, as far as the decoder knows."""
    if isinstance(error, UnicodeDecodeError):
        return NotJson("A text in it is not UTF-8: send JSON in UTF-8.")
    if isinstance(error, RecursionError):
        return NotJson("It is nested deeper than any event.")
    if "truncated" in str(error):  # said of a high surrogate without its low one, too
        return NotJson(
            "The JSON ends before it is complete, or a \\u escape stands for half a character: send it whole."
        )
    place = _BYTE.search(str(error))
    where = f" near byte {place[1]}" if place else ""
    return NotJson(f"This stops being JSON{where}: send one JSON text in UTF-8, as RFC 8259 writes it.")


def _with_texts(event: E, change: Callable[[str, str], str]) -> E:
    """Give the event with each of its free texts changed."""
    changed: E = event
    for path in type(event).kept_out:
        changed = _changed(changed, path.split("."), "", change)
    return changed


def _changed(value: Any, steps: list[str], place: str, change: Callable[[str, str], str]) -> Any:  # noqa: ANN401 -- any field
    """Follow a path as "defects[].found" to every text it names."""
    if value is None:
        return None
    if not steps:
        return change(place, value)
    name, many, rest = steps[0].removesuffix("[]"), steps[0].endswith("[]"), steps[1:]
    here, now = f"{place}.{name}".lstrip("."), getattr(value, name)
    if many:
        after: Any = tuple(_changed(one, rest, f"{here}[{index}]", change) for index, one in enumerate(now))
    else:
        after = _changed(now, rest, here, change)
    return value if after == now else msgspec.structs.replace(value, **{name: after})


def blank(event: E) -> E:
    """Empty every free text: what is left to compare once a text was erased."""
    return _with_texts(event, lambda _place, _text: "erased")
