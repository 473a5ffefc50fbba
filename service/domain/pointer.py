"""From what the decoder says is wrong to a JSON pointer (RFC 6901) and a sentence the sender can act on.

msgspec names a place as "$.defects[0].found", but an entry of an object only as "[...]": which one is found by decoding
again with fewer entries. Its sentences and their forms are fixed by the tests, so that a new release cannot change them
unseen.
"""

import re
from bisect import bisect_left
from collections.abc import Callable
from typing import Any, Final

import msgspec

from service.domain.plainly import plainly
from service.domain.value import FieldError
from service.domain.words import MANY, PHRASES

LONGEST: Final = 200
"""Characters of a sender's own text that are said back in a sentence or a pointer."""

_PLACED = re.compile(r"(?P<what>.*) - at `(?P<key>key` in `)?(?P<path>\$[^`]*)`", re.DOTALL)
_STEP = re.compile(r"\.([A-Za-z_0-9]+)|\[(\d+|\.\.\.)\]")
_UNKNOWN = re.compile(r"Object contains unknown field `(.*)`", re.DOTALL)
_MISSING = re.compile(r"Object missing required field `(.*)`", re.DOTALL)

SENTENCES: Final = {
    "Invalid RFC3339 encoded datetime": (
        "must be an instant such as 2026-03-02T05:51:40+00:00; a leap second (:60) is not taken, send :59"
    ),
    "Expected `datetime` with a timezone component": (
        "must say its offset from UTC, as in 2026-03-02T05:51:40+00:00 or 2026-03-02T05:51:40Z"
    ),
    "Invalid RFC3339 encoded date": "must be a day of the calendar such as 2026-03-02",
}

Step = str | int
Retry = Callable[[Any], object]
"""Decodes a message that is parsed already; raises what the first decoding raised."""


def fault(error: msgspec.ValidationError, document: Callable[[], Any], retry: Retry) -> tuple[str, str]:
    """Give the pointer and the sentence of an error. `document` parses the message without judging it."""
    placed = _PLACED.fullmatch(str(error))
    what = placed["what"] if placed else str(error)
    steps = _steps(placed["path"]) if placed else []
    if placed and placed["key"]:
        steps.append("...")
    if "..." in steps:
        steps = _named(steps, str(error), document, retry)
    cause = error.__cause__
    if isinstance(cause, FieldError):
        steps += [step for step in cause.field.split("/") if step]
    else:
        field = _UNKNOWN.fullmatch(what) or _MISSING.fullmatch(what)
        steps += [field[1]] if field else []
    return written(steps), _sentence(what, steps)


def _steps(path: str) -> list[Step]:
    """Take "$.defects[0].found" apart."""
    return [name or (entry if entry == "..." else int(entry)) for name, entry in _STEP.findall(path)]


def _named(steps: list[Step], message: str, document: Callable[[], Any], retry: Retry) -> list[Step]:
    """Put the key at fault in the place of "...". In an object too long for any event the object itself is named."""
    at = steps.index("...")
    way, rest = steps[:at], steps[at + 1 :]
    try:
        whole = document()
        entries = list(_reach(whole, way).items())
    except (msgspec.DecodeError, RecursionError, KeyError, IndexError, TypeError, AttributeError):
        return way
    if len(entries) > MANY:
        return way

    def fails(first: int) -> bool:
        try:
            retry(_replaced(whole, way, dict(entries[:first])))
        except msgspec.ValidationError as error:
            return str(error) == message
        return False

    count = bisect_left(range(len(entries) + 1), True, key=fails)  # noqa: FBT003 -- the value looked for
    return [*way, entries[count - 1][0], *rest] if 0 < count <= len(entries) else way


def _reach(document: Any, way: list[Step]) -> Any:  # noqa: ANN401 -- any JSON value
    for step in way:
        document = document[step]
    return document


def _replaced(document: Any, way: list[Step], value: Any) -> Any:  # noqa: ANN401 -- any JSON value
    """Give the document with another value at the end of the way; the document itself stays as it is."""
    if not way:
        return value
    changed = document.copy()
    changed[way[0]] = _replaced(document[way[0]], way[1:], value)
    return changed


def written(steps: list[Step]) -> str:
    """Write the way as a JSON pointer; a member's name that is too long to repeat is left out."""
    written = [str(step).replace("~", "~0").replace("/", "~1") for step in steps]
    if written and len(written[-1]) > LONGEST:
        written.pop()
    return "".join(f"/{step}" for step in written)


def _sentence(what: str, steps: list[Step]) -> str:
    """Say what is wrong in our words where the decoder's would not help."""
    if steps == ["kind"] and what.startswith("Invalid value "):
        return f"{what[len('Invalid value ') :][:LONGEST]} is no kind of event; openapi.json lists the kinds"
    if _UNKNOWN.fullmatch(what):
        return "no such field here"
    if _MISSING.fullmatch(what):
        return "is needed"
    for pattern, phrase in PHRASES.items():
        if repr(pattern) in what:
            return f"must be {phrase}"
    return SENTENCES.get(what) or plainly(what)[:LONGEST]
