"""Everything that is wrong with a message at once, each fault with its place.

The decoder stops at the first. So the fields of an object are tried one by one, and those of the objects in it; then
what is wrong between those that are right by themselves. Of an unknown kind the fields that all kinds have are tried.
"""

from collections.abc import Iterable, Iterator, Sequence
from contextlib import suppress
from difflib import get_close_matches
from inspect import getattr_static
from itertools import islice
from types import FunctionType, MethodType, UnionType
from typing import Annotated, Any, Final, Literal, Union, get_args, get_origin

import msgspec
from msgspec.structs import FieldInfo

from service.domain.pointer import fault, written
from service.domain.value import FieldError, own_checks, unlikely
from service.domain.words import MANY

MOST: Final = 50
"""How many faults are told of one message."""

LONGEST_NAME: Final = 40
"""Characters of a name that may be a field's misspelt; a longer one is compared with none."""
NEAR: Final = 0.8
"""How alike two names must be, of 1: `size` is not taken for `site`."""

ADDED: Final = frozenset({"seq", "recorded_at", "received_at", "conflicts", "voided_by", "time_doubts"})
"""Fields that are read with an event, and so sent back by whoever changes what was read."""

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
    """Give the faults of the parts of a value; where they have none, or nobody knows what it is, that of the whole."""
    within = iter(()) if isinstance(value, dict | list) and len(value) > MANY else _within(value, wanted, place)
    first = next(within, None)
    if first is None or _is_nameless(value, wanted):
        pointer, sentence = fault(error, lambda: value, lambda other: msgspec.convert(other, wanted))
        listed = words(wanted) if str(error).startswith("Invalid enum value") else ()
        yield place + pointer, f"must be one of {', '.join(listed)}" if listed else sentence
    if first is not None:
        yield first
        yield from within


def _within(value: Any, wanted: Any, place: str) -> Iterator[Found]:  # noqa: ANN401 -- any JSON value, any type
    """Give the faults of the parts of a value, if the type knows what they should be."""
    if isinstance(value, dict):
        structs = _structs(wanted)
        struct = _chosen(value, structs)
        if struct is not None:
            yield from _of_object(value, struct, place)
        elif structs:
            yield from _of_object(value, _shared(structs), place, {name for one in structs for name in _named(one)})
        else:
            yield from _of_entries(value, wanted, place)
    elif isinstance(value, list):
        for number, element in enumerate(value):
            for inner in _elements(wanted):
                yield from _faults(element, inner, f"{place}/{number}")


def _of_entries(value: dict[str, Any], wanted: Any, place: str) -> Iterator[Found]:  # noqa: ANN401 -- any type
    for key, inner in _entries(wanted):
        for name, entry in value.items():
            yield from _faults(name, key, place + written([name]))
            yield from _faults(entry, inner, place + written([name]))


def _of_object(
    value: dict[str, Any], struct: type[msgspec.Struct], place: str, others: Iterable[str] = ()
) -> Iterator[Found]:
    """Give the faults of an object: field by field, then between those that are right. `others` may be fields, too.

    The fields there are stand beside the first that is none, unless it is not known which those are.
    """
    known = _named(struct)
    right: dict[str, Any] = {}
    lists = "" if others else f"; known are {', '.join(known)}"
    for name, inner in value.items():
        if name in known:
            found = list(_faults(inner, known[name].type, place + written([name])))
            yield from found
            right |= {} if found else {known[name].name: msgspec.convert(inner, known[name].type)}
        elif name != struct.__struct_config__.tag_field and name not in others:
            instead = _instead(name, (*known, *others))
            yield place + written([name]), f"no such field here{instead or lists}"
            lists = lists if instead else ""
    for name, field in known.items():
        if field.required and name not in value:
            yield place + written([name]), "is needed"
        elif name not in value:
            right[field.name] = field.default if field.default_factory is msgspec.NODEFAULT else field.default_factory()
    for error in _between(struct, Part(struct, right)):
        yield place + written([step for step in error.field.split("/") if step]), error.detail


class Missing(AttributeError):
    """A field that is not right, and so says nothing."""


class Part:
    """What is right of an object, in its place while its checks are asked. Missing where they need more."""

    def __init__(self, struct: type[msgspec.Struct], right: dict[str, Any]) -> None:
        self._struct = struct
        self.__dict__.update(right)

    def __getattr__(self, name: str) -> Any:  # noqa: ANN401 -- whatever the struct has
        found = getattr_static(self._struct, name, None)
        if isinstance(found, FunctionType):
            return MethodType(found, self)
        if found is None or name in self._struct.__struct_fields__:
            raise Missing(name)
        return getattr(self._struct, name)


def _between(struct: type[msgspec.Struct], part: Part) -> Iterator[FieldError]:
    """Ask the checks of a struct; one that needs what is not right is not made."""
    yield from unlikely(struct, part)
    for wrong in own_checks(struct):
        with suppress(Missing):
            yield from wrong(part)


def _named(struct: type[msgspec.Struct]) -> dict[str, FieldInfo]:
    return {field.encode_name: field for field in msgspec.structs.fields(struct)}


def _shared(structs: Sequence[type[msgspec.Struct]]) -> type[msgspec.Struct]:
    """Give the class that several have in common: its fields are those of all of them."""
    first, *rest = structs
    return next(one for one in first.__mro__ if all(issubclass(other, one) for other in rest))


def _instead(name: str, known: Iterable[str]) -> str:
    """Say that what the service adds is left out, or ask whether the nearest of the fields is meant, if one is near."""
    if name in ADDED:
        return "; the service says this itself: leave it out"
    near = get_close_matches(name, known, 1, NEAR) if len(name) <= LONGEST_NAME else []
    return f"; is {near[0]!r} meant?" if near else ""


def _structs(wanted: Any) -> list[type[msgspec.Struct]]:  # noqa: ANN401 -- any type
    """List the structs that a value may be."""
    return [one for one in _parts(wanted) if isinstance(one, type) and issubclass(one, msgspec.Struct)]


def _chosen(value: dict[str, Any], structs: Sequence[type[msgspec.Struct]]) -> type[msgspec.Struct] | None:
    """Give the struct that an object is meant to be: of several the one that it names."""
    if len(structs) == 1:
        return structs[0]
    named = (one for one in structs if value.get(str(one.__struct_config__.tag_field)) == one.__struct_config__.tag)
    return next(named, None)


def _is_nameless(value: Any, wanted: Any) -> bool:  # noqa: ANN401 -- any JSON value, any type
    """Say whether an object names none of the structs that it may be."""
    structs = _structs(wanted)
    return isinstance(value, dict) and bool(structs) and _chosen(value, structs) is None


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
