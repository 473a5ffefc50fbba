"""Every string that a type can hold, with its bounds, by the path that leads to it."""

from collections.abc import Iterator

from msgspec import inspect


def strings_in(found: inspect.Type, path: str = "") -> Iterator[tuple[str, inspect.StrType]]:
    """Walk a type to its strings: "a.b" within an object, "a[]" in a list, "a{}" a key or value of a mapping."""
    if isinstance(found, inspect.StrType):
        yield path, found
    for place, part in _parts(found, path):
        yield from strings_in(part, place)


def _parts(found: inspect.Type, path: str) -> list[tuple[str, inspect.Type]]:
    match found:
        case inspect.Metadata():
            return [(path, found.type)]
        case inspect.UnionType():
            return [(path, one) for one in found.types]
        case inspect.VarTupleType():
            return [(f"{path}[]", found.item_type)]
        case inspect.DictType():
            return [(f"{path}{{}}", found.key_type), (f"{path}{{}}", found.value_type)]
        case inspect.StructType():
            return [(f"{path}.{field.encode_name}".lstrip("."), field.type) for field in found.fields]
        case _:
            return []
