"""The decoder's sentences in words that a sender can act on: what the field must be, not what a library calls it."""

import re
from typing import Final

NAMES: Final = {
    "object": "an object",
    "array": "a list",
    "str": "a text",
    "int": "a whole number",
    "float": "a number",
    "bool": "true or false",
    "null": "null",
    "uuid": "a UUID",
    "datetime": "an instant",
    "date": "a day",
    "decimal": "an amount",
}
BOUNDS: Final = {">=": "at least", "<=": "at most", ">": "more than", "<": "less than"}
FIXED: Final = {
    "Invalid UUID": "must be a UUID such as 0198c1f2-7a10-7c3e-9b55-3f1d2ab40c01",
    "Invalid decimal string": "must be an amount such as 12.50",
}

_TYPE = re.compile(r"Expected `([a-z |]+)`(?:, got `([a-z]+)`)?")
_BOUND = re.compile(r"Expected `(?:int|float|decimal)` ([<>]=?) (-?[0-9.]+)")
_LENGTH = re.compile(r"Expected `(str|array|object)` of (?:at (?:least|most) )?length (?:([<>]=?) )?([0-9]+)")
_WORD = re.compile(r"Invalid enum value '(.*)'", re.DOTALL)


def plainly(what: str) -> str:
    """Say what must be instead; a sentence that is not known stays as it is."""
    if what in FIXED:
        return FIXED[what]
    if bound := _BOUND.fullmatch(what):
        return f"must be {BOUNDS[bound[1]]} {bound[2].removesuffix('.0')}"
    if length := _LENGTH.fullmatch(what):
        one, several = ("character", "characters") if length[1] == "str" else ("entry", "entries")
        return f"must have {BOUNDS.get(length[2] or '', 'exactly')} {length[3]} {one if length[3] == '1' else several}"
    if word := _WORD.fullmatch(what):
        return f"{word[1]!r} is none of the words of this field; openapi.json lists them"
    if kind := _TYPE.fullmatch(what):
        return _must_be(kind[1].split(" | "), kind[2])
    return what


def _must_be(wanted: list[str], given: str | None) -> str:
    """Say what a field must be. Where it may be left out null is one of what it may be, and goes without saying."""
    names = [NAMES.get(name, name) for name in wanted if name != "null" or len(wanted) == 1]
    told = f"must be {' or '.join(names)}"
    if given is None:
        return told
    fraction = given == "float" and "float" not in wanted
    return f"{told}, not {'a number with a fraction' if fraction else NAMES.get(given, given)}"
