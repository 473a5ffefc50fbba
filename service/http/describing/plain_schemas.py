"""Schemas as any reader of JSON Schema takes them: patterns without Python's own marks, bounds said by name."""

import re
from collections.abc import Callable, Iterator, Mapping
from typing import Any, Final

from service.domain import words

Json = dict[str, Any]

#: The longest text that each pattern lets through, which a pattern alone does not say to every reader.
LONGEST: Final[dict[str, int]] = {
    words.REF_PATTERN: 40,
    words.EXPIRY_PATTERN: 10,
    words.PERIOD_PATTERN: 50,
    words.CLOCK_PATTERN: 5,
    words.ZONE_PATTERN: 64,
    words.CURRENCY_PATTERN: 3,
    words.GTIN_PATTERN: 14,
    words.SHA256_PATTERN: 64,
}
#: In JSON Schema `$` is the end of the text and nothing else (ECMA-262), and no text holds half a surrogate pair.
NEEDLESS: Final = ("(?!\\n)", "\\ud800-\\udfff")
WIDE: Final = 2**31
LENGTHS: Final = {"date-time": 35, "date": 10, "uuid": 36, "decimal": 20}
#: A pattern that allows some words and no others.
CHOICE: Final = re.compile(r"\^\(([a-z-]+(?:\|[a-z-]+)+)\)\$")
#: A pattern of texts that have at least one character that shows.
SAYS_SOMETHING: Final = re.compile(r"\^\(\?=[^)]*\)\[\^(.*)\]\+\$(?:\(\?!\\n\))?")
#: What sentences in the code say for those who read the code: the ruling or the page that something rests on.
INSIDE: Final = re.compile(r"\s*\((?:design|R)\s?[0-9][^)]*\)")


def plain(schema: Json) -> Json:
    """Give a schema with all that stands in it put plainly."""
    told: Json = {name: _within(name, value) for name, value in schema.items()}
    pattern = schema.get("pattern")
    if "description" in schema:
        told["description"] = INSIDE.sub("", schema["description"])
    if listed := CHOICE.fullmatch(pattern or ""):
        del told["pattern"]
        told["enum"] = listed[1].split("|")
    elif pattern is not None:
        told["pattern"] = without(pattern)
        if pattern in LONGEST:
            told.setdefault("maxLength", LONGEST[pattern])
    if schema.get("type") == "integer":
        told["format"] = "int64" if max(schema.get("maximum", WIDE), -schema.get("minimum", 0)) >= WIDE else "int32"
    if schema.get("items") is False:
        told["items"] = plain(schema["prefixItems"][0])
        del told["prefixItems"]
    if schema.get("format") in LENGTHS:
        told.setdefault("maxLength", LENGTHS[schema["format"]])
    return told


def _within(name: str, value: object) -> object:
    if name in {"examples", "example", "default", "enum", "const", "required"}:
        return value
    if name == "properties" and isinstance(value, dict):  # their names may be words of schemas, such as "pattern"
        return {field: plain(one) for field, one in value.items()}
    if isinstance(value, dict):
        return plain(value)
    if isinstance(value, list | tuple):
        return [plain(one) if isinstance(one, dict) else one for one in value]
    return value


def without(pattern: str) -> str:
    """Take out of a pattern what means nothing in JSON Schema, and say without looking ahead that something is said."""
    if said := SAYS_SOMETHING.fullmatch(pattern):
        barred = said[1]
        pattern = f"^[^{barred}]*[^\\s{barred}][^{barred}]*$"
    for needless in NEEDLESS:
        pattern = pattern.replace(needless, "")
    return pattern


def explained(name: str, schema: Json, meaning: Callable[[str, str], str | None]) -> Json:
    """Give a schema of an object with a sentence at each of its properties; what says something itself keeps it."""
    properties: Mapping[str, Json] = schema.get("properties", {})
    told = dict(_sentences(name, properties, meaning))
    return schema | {"properties": told} if told else schema


def _sentences(
    name: str, properties: Mapping[str, Json], meaning: Callable[[str, str], str | None]
) -> Iterator[tuple[str, Json]]:
    for field, schema in properties.items():
        sentence = meaning(name, field)
        yield field, schema if sentence is None or "description" in schema else {"description": sentence, **schema}
