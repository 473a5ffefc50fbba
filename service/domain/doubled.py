"""Members that stand twice in one object: readers differ about which counts (RFC 8259 section 4), so none is believed.

msgspec takes the last without a word; the parser of the standard library shows every one.
"""

import json
from collections import Counter, deque
from collections.abc import Iterable, Iterator
from typing import Any, TypeAlias

from service.domain.pointer import Step, written

Members: TypeAlias = tuple[tuple[str, Any], ...]
"""The members of an object as they stand in the text, doubled ones too: what is parsed here has tuples for objects."""


def named(members: Members, name: str) -> Iterator[Any]:
    """Give every value of a name, in the order of the text."""
    return (value for known, value in members if known == name)


class _Found(Exception):
    """Some object has a member twice."""


def parsed(text: str) -> Any:  # noqa: ANN401 -- any JSON value
    """Parse a JSON text, its objects as `Members`, forbearing with what strict readers refuse.

    ValueError if it is none, RecursionError for what is nested too deep.
    """
    return json.loads(text, strict=False, parse_int=float, object_pairs_hook=tuple)


def doubled(raw: bytes) -> str | None:
    """Give the JSON pointer of the first member that stands twice; None where there is none, or no JSON text."""
    try:
        json.loads(raw.decode(), strict=False, parse_int=float, object_pairs_hook=_once)
    except _Found:
        return _twice(parsed(raw.decode()))
    except (ValueError, RecursionError):
        return None
    return None


def _once(members: list[tuple[str, Any]]) -> None:
    if len(dict(members)) != len(members):
        raise _Found


def _twice(document: Any) -> str:  # noqa: ANN401 -- any JSON value
    """Point at the first member that stands twice in a document that has one, in outer objects before inner ones."""
    left: deque[tuple[tuple[Step, ...], Any]] = deque([((), document)])
    while True:
        way, value = left.popleft()
        inner: Iterable[tuple[Step, Any]] = enumerate(value)
        if isinstance(value, tuple):
            names, inner = Counter(name for name, _ in value), value
            if len(names) < len(value):
                return written([*way, next(name for name, times in names.items() if times > 1)])
        left += (((*way, step), one) for step, one in inner if isinstance(one, tuple | list) and one)
