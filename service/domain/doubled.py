"""Members that stand twice in one object: readers differ about which counts (RFC 8259 section 4), so none is believed.

msgspec takes the last without a word; the parser of the standard library shows every one.
"""

import json
from collections.abc import Iterator
from typing import Any

from service.domain.pointer import Step, written


class Members(list[tuple[str, Any]]):
    """The members of an object as they stand in the text, doubled ones too."""

    def named(self, name: str) -> Iterator[Any]:
        """Give every value of a name, in the order of the text."""
        return (value for known, value in self if known == name)


class _Found(Exception):
    """Some object has a member twice."""


def parsed(text: str) -> Any:  # noqa: ANN401 -- any JSON value
    """Parse a JSON text, its objects as `Members`; forbearing with what strict readers refuse.

    ValueError if it is none, RecursionError for what is nested too deep.
    """
    return json.loads(text, strict=False, parse_int=float, object_pairs_hook=Members)


def doubled(raw: bytes) -> str | None:
    """Give the JSON pointer of the first member that stands twice; None where there is none, or no JSON text."""
    try:
        json.loads(raw.decode(), strict=False, parse_int=float, object_pairs_hook=_once)
    except _Found:
        return _first(parsed(raw.decode()))
    except (ValueError, RecursionError):
        return None
    return None


def _once(members: list[tuple[str, Any]]) -> None:
    if len(dict(members)) != len(members):
        raise _Found


def _first(document: Any) -> str | None:  # noqa: ANN401 -- any JSON value
    """Walk the document in the order of the text, outer objects before inner ones."""
    left: list[tuple[list[Step], Any]] = [([], document)]
    while left:
        way, value = left.pop(0)
        if isinstance(value, Members):
            seen: set[str] = set()
            for name, inner in value:
                if name in seen:
                    return written([*way, name])
                seen.add(name)
                left.append(([*way, name], inner))
        elif isinstance(value, list):
            left += [([*way, place], inner) for place, inner in enumerate(value)]
    return None
