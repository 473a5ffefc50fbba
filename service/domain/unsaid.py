"""Labels that say nothing: blank but for what nobody sees, so that nothing can be found by them.

They are refused as they are sent. The pattern of labels asks no more than it ever did, so that the log stays legible.
"""

from collections.abc import Iterator
from functools import cache
from typing import Final

import msgspec
from msgspec import inspect

from service.domain.errors import Malformed
from service.domain.label import normal
from service.domain.words import LABEL_PATTERN, PHRASES

SENTENCE: Final = f"must be {PHRASES[LABEL_PATTERN]}"


def refuse_unsaid(value: object, raw: bytes) -> None:
    """Refuse what was read of a text where a label says nothing. Raises Malformed with the place of each.

    What is not seen is written beyond ASCII or escaped; most texts are neither, and are not looked through.
    """
    if raw.isascii() and b"\\u" not in raw:
        return
    found = list(unsaid(value))
    if found:
        raise Malformed.of(found)


def unsaid(value: object) -> Iterator[tuple[str, str]]:
    """Give the place of each label that says nothing, and the sentence on it."""
    return ((place, SENTENCE) for place in _unsaid(value, "", label=False))


def _unsaid(value: object, place: str, *, label: bool) -> Iterator[str]:
    """Give the places of the labels that say nothing; `label` says whether the texts here are any."""
    if isinstance(value, str):
        if label and not normal(value):
            yield place
    elif isinstance(value, tuple):
        for nth, one in enumerate(value):
            yield from _unsaid(one, f"{place}/{nth}", label=label)
    elif isinstance(value, msgspec.Struct):
        for name, encoded, of_labels in _fields(type(value)):
            yield from _unsaid(getattr(value, name), f"{place}/{encoded}", label=of_labels)


@cache
def _fields(struct: type[msgspec.Struct]) -> tuple[tuple[str, str, bool], ...]:
    """Give the fields of a struct, how each is written, and whether its texts are labels."""
    info = inspect.type_info(struct)
    if not isinstance(info, inspect.StructType):  # pragma: no cover - a Struct is never anything else
        raise TypeError(struct)
    return tuple((field.name, field.encode_name, _is_label(field.type)) for field in info.fields)


def _is_label(kind: inspect.Type) -> bool:
    match kind:
        case inspect.StrType(pattern=pattern):
            return pattern == LABEL_PATTERN
        case inspect.UnionType(types=types):
            return any(map(_is_label, types))
        case inspect.VarTupleType(item_type=inner) | inspect.Metadata(type=inner):
            return _is_label(inner)
    return False
