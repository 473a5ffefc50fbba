"""Everything that is wrong with a message at once, each fault with its place.

The decoder stops at the first. So the fields of an object are tried one by one, and those of the objects in it; what is
wrong only with the whole of an object is told when nothing in it is.
"""

from collections.abc import Iterable, Iterator
from difflib import get_close_matches
from itertools import islice
from types import UnionType
from typing import Annotated, Any, Final, Literal, Union, get_args, get_origin

import msgspec

from service.domain.pointer import fault, written
from service.domain.words import MANY

MOST: Final = 50
"""How many faults are told of one message."""

LONGEST_NAME: Final = 40
"""Characters of a name that may be a field's misspelt; a longer one is compared with none."""
NEAR: Final = 0.8
"""How alike two names must be, of 1: `size` is not taken for `site`."""

Found = tuple[str, str]
"""The JSON pointer of a fault, and the sentence on it."""


def faults(error: msgspec.ValidationError, document: Any, wanted: Any) -> list[Found]:  # noqa: ANN401 -- any JSON, any type
    """Give the faults of a parsed message, in the order it is written in, at most fifty; `error` is the decoder's."""
    return list(islice(_told(error, document, wanted, ""), MOST))


def _faults(value: Any, wanted: Any, place: str) -> Iterator[Found]:  # noqa: ANN401 -- any JSON value, any type
    try:
        msgspec.convert(value, wanted)
    except msgspec.ValidationError as error:
        yield from _told(error, value, wanted, place)


def _told(error: msgspec.ValidationError, value: Any, wanted: Any, place: str) -> Iterator[Found]:  # noqa: ANN401 -- any type
    """Give the faults of the parts of a value; where they have none, that of the whole."""
    within = iter(()) if isinstance(value, dict | list) and len(value) > MANY else _within(value, wanted, place)
    first = next(within, None)
    if first is not None:
        yield first
        yield from within
        return
    pointer, sentence = fault(error, lambda: value, lambda other: msgspec.convert(other, wanted))
    listed = words(wanted) if str(error).startswith("Invalid enum value") else ()
    yield place + pointer, f"must be one of {', '.join(listed)}" if listed else sentence


def _within(value: Any, wanted: Any, place: str) -> Iterator[Found]:  # noqa: ANN401 -- any JSON value, any type
    """Give the faults of the parts of a value, if the type knows what they should be."""
    if isinstance(value, dict):
        struct = _chosen(value, wanted)
        yield from _of_entries(value, wanted, place) if struct is None else _of_object(value, struct, place)
    elif isinstance(value, list):
        for number, element in enumerate(value):
            for inner in _elements(wanted):
                yield from _faults(element, inner, f"{place}/{number}")


def _of_entries(value: dict[str, Any], wanted: Any, place: str) -> Iterator[Found]:  # noqa: ANN401 -- any type
    for key, inner in _entries(wanted):
        for name, entry in value.items():
            yield from _faults(name, key, place + written([name]))
            yield from _faults(entry, inner, place + written([name]))


def _of_object(value: dict[str, Any], struct: type[msgspec.Struct], place: str) -> Iterator[Found]:
    known = {field.encode_name: field for field in msgspec.structs.fields(struct)}
    for name, inner in value.items():
        if name in known:
            yield from _faults(inner, known[name].type, place + written([name]))
        elif name != struct.__struct_config__.tag_field:
            yield place + written([name]), f"no such field here{_meant(name, known)}"
    for name, field in known.items():
        if field.required and name not in value:
            yield place + written([name]), "is needed"


def _meant(name: str, known: Iterable[str]) -> str:
    """Ask whether the nearest of the fields is meant, where one is near."""
    near = get_close_matches(name, known, 1, NEAR) if len(name) <= LONGEST_NAME else []
    return f"; is {near[0]!r} meant?" if near else ""


def _chosen(value: dict[str, Any], wanted: Any) -> type[msgspec.Struct] | None:  # noqa: ANN401 -- any type
    """Give the struct that an object is meant to be: of several the one that it names."""
    structs = [one for one in _parts(wanted) if isinstance(one, type) and issubclass(one, msgspec.Struct)]
    if len(structs) == 1:
        return structs[0]
    named = (one for one in structs if value.get(str(one.__struct_config__.tag_field)) == one.__struct_config__.tag)
    return next(named, None)


def _entries(wanted: Any) -> Iterator[tuple[Any, Any]]:  # noqa: ANN401 -- any type
    """Give the types of a mapping's keys and values, once."""
    for one in _parts(wanted):
        if get_origin(one) is dict:
            yield get_args(one)
            return


def _elements(wanted: Any) -> Iterator[Any]:  # noqa: ANN401 -- any type
    """Give the type of a list's elements, once."""
    for one in _parts(wanted):
        if get_origin(one) in {list, tuple, frozenset, set}:
            yield get_args(one)[0]
            return


def _parts(wanted: Any) -> Iterator[Any]:  # noqa: ANN401 -- any type
    """Take a type apart into those a value may have, without what only narrows them."""
    origin = get_origin(wanted)
    if origin is Annotated:
        yield from _parts(get_args(wanted)[0])
    elif origin in {Union, UnionType}:
        for one in get_args(wanted):
            yield from _parts(one)
    else:
        yield wanted


def words(wanted: Any) -> list[str]:  # noqa: ANN401 -- any type
    """List the words that a type allows."""
    return [str(word) for one in _parts(wanted) if get_origin(one) is Literal for word in get_args(one)]
