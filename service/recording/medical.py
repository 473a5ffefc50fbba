"""Medical data stays out (design 9): of a refused message that may hold some, only the names of its fields are kept.

Data concerning health are any that tell of a person's state of health (Regulation (EU) 2016/679 art. 4(15)). No kind of
event has a field for them; a sender that adds one is refused. What gives it away is the kind, or the name of a field.
"""

import re
from collections import deque
from collections.abc import Iterator
from typing import Any, Final

import msgspec

from service.domain.doubled import parsed
from service.domain.problem import Problem
from service.domain.words import MANY

KINDS: Final = frozenset({"medically-cleared"})
WORDS: Final = frozenset(
    {
        "allergies",
        "allergy",
        "asthma",
        "blood",
        "clinician",
        "diagnoses",
        "diagnosis",
        "disability",
        "disease",
        "doctor",
        "health",
        "illness",
        "injuries",
        "injury",
        "medical",
        "medication",
        "medications",
        "medicine",
        "patient",
        "physician",
        "pregnancy",
        "pregnant",
        "spirometry",
        "symptom",
        "symptoms",
    }
)
"""Any of these as a word of a field's name, as in `lung_disease`."""
THINGS: Final = frozenset({"battery", "fan", "filter", "motor", "part", "unit"})
"""Words beside which `health` is that of a thing, as in `battery_health`."""
NAME: Final = re.compile(r"[A-Za-z_][A-Za-z0-9_.-]{0,39}")
MEMBER: Final = re.compile(r'"([A-Za-z_][A-Za-z0-9_.-]{0,39})"\s*:')
PIECE: Final = re.compile(r"[A-Z]?[a-z]+|[A-Z]+")
HUSHED: Final = "Medical data stays out: only the names of the message's fields are kept, and a hash of it."


def medical_fields(raw: bytes, kind: str | None) -> tuple[str, ...] | None:
    """Give the names of the fields of a message that is no event and may hold medical data; None for any other."""
    names = tuple(dict.fromkeys(_names(raw)))
    if kind in KINDS or any(_is_medical(name) for name in names):
        return names[:MANY]
    return None


def _names(raw: bytes) -> Iterator[str]:
    """Name the members of every object, as far as they are plain names; also of a text that is no JSON."""
    text = raw.decode("utf-8", "replace")
    try:
        left: deque[Any] = deque([parsed(text)])
    except (ValueError, RecursionError):
        yield from MEMBER.findall(text)
        return
    while left:
        value = left.popleft()
        if isinstance(value, tuple):
            yield from (name for name, _ in value if NAME.fullmatch(name))
            left += [inner for _, inner in value]
        elif isinstance(value, list):
            left += value


def _is_medical(name: str) -> bool:
    """Say whether a field may be about somebody's health."""
    pieces = {piece.lower() for piece in PIECE.findall(name)}
    found = pieces & WORDS
    return bool(found) and not (found == {"health"} and pieces & THINGS)


def hushed(problem: Problem) -> Problem:
    """Give what is kept of the problem of such a message: which fields were at fault, nothing of what they said."""
    faults = tuple(
        msgspec.structs.replace(fault, detail=HUSHED) for fault in problem.errors if fault.pointer is not None
    )
    return Problem(code=problem.code, detail=HUSHED, errors=faults)
