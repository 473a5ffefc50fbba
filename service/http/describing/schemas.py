"""The schemas of the interface: every kind of event as it is posted and as it is read back, and every answer."""

from collections.abc import Iterable, Mapping
from copy import deepcopy
from typing import Any

import msgspec

from service.domain.event import Event
from service.domain.kinds import KINDS, AnyEvent
from service.domain.kinds.checked import Checked
from service.http.describing.meanings import of_answer, of_event
from service.http.describing.plain_schemas import Json, explained, plain
from service.http.shapes.events import ADDED, Added, Definitions, RecordedAs, RecordedEvent, Shape
from service.http.shapes.problem import Problem
from service.http.shapes.words import Next
from service.recording.references import DEFINED_BY

READ_BACK = Checked.example | ADDED
REF = "#/components/schemas/{name}"


def refer(name: str) -> Json:
    """Point to a schema."""
    return {"$ref": REF.format(name=name)}


def name_of(shape: Shape) -> str:
    """Give the name that the schema of an answer has."""
    match shape:
        case RecordedAs(kind):
            return f"Recorded{kind.__name__}"
        case Definitions(word):
            return f"{word.title()}List"
        case _:
            return shape.__name__


def body_of(kind: type[Event]) -> str:
    """Give the name of the schema of what is put at the address of a definition."""
    return f"{kind.__name__}Body"


def components(shapes: Iterable[Shape]) -> dict[str, Json]:
    """Give the schemas of all events, and of the answers of these shapes."""
    every = list(dict.fromkeys(shapes))
    structs = [shape for shape in every if isinstance(shape, type)]
    lists = {name_of(shape): _list(shape) for shape in every if isinstance(shape, Definitions)}
    posted = _posted()
    told = _answers([*structs, Added, Problem, RecordedEvent])
    added = told.pop("Added")
    recorded = {f"Recorded{kind.__name__}": _recorded(kind, posted[kind.__name__], added) for kind in KINDS}
    told["RecordedEvent"] = _any("An event as it is read back, by its kind.", recorded) | {"examples": [READ_BACK]}
    bodies = {body_of(kind): _body(kind, posted[kind.__name__]) for kind in KINDS if kind.kind in _FIELDS}
    return told | posted | bodies | recorded | lists


def _posted() -> dict[str, Json]:
    _, found = msgspec.json.schema_components([AnyEvent], ref_template=REF)
    told = {name: explained(name, plain(schema), of_event) for name, schema in found.items()}
    for kind in KINDS:
        told[kind.__name__]["examples"] = [kind.example]
    kinds = {kind.__name__: told[kind.__name__] for kind in KINDS}
    return {"Event": _any("One event, by its kind.", kinds), **told}


def _any(description: str, kinds: Mapping[str, Json]) -> Json:
    """Describe a choice by kind."""
    mapping = {schema["properties"]["kind"]["enum"][0]: REF.format(name=name) for name, schema in kinds.items()}
    return {
        "title": "Event",
        "description": description,
        "oneOf": [refer(name) for name in kinds],
        "discriminator": {"propertyName": "kind", "mapping": mapping},
    }


def _answers(structs: Iterable[type[msgspec.Struct]]) -> dict[str, Json]:
    _, found = msgspec.json.schema_components(list(dict.fromkeys(structs)), ref_template=REF)
    told = {name: explained(name, plain(schema), of_answer) for name, schema in found.items()}
    for struct in structs:
        example: Any = getattr(struct, "example", None)
        if example is not None:
            told[struct.__name__]["examples"] = [example]
    return told


def _recorded(kind: type[Event], posted: Json, added: Json) -> Json:
    """Describe an event as it is read back: fields may be added to it, so that none is refused."""
    told = deepcopy(posted)
    del told["additionalProperties"]
    told["title"] = f"Recorded{kind.__name__}"
    told["properties"] = added["properties"] | told["properties"] | {"sent_at": added["properties"]["sent_at"]}
    told["required"] = [*added["required"], *told["required"]]
    del told["examples"]
    return told


#: By the kind that defines something: the field that its address says.
_FIELDS = {kind: field for field, kind in DEFINED_BY.items()}


def _body(kind: type[Event], posted: Json) -> Json:
    """Describe what is put: what the address says may be left out, and what the service fills in."""
    told = deepcopy(posted)
    given = {"kind", "id", "scope", _FIELDS[kind.kind]}
    told["title"] = body_of(kind)
    told["required"] = [field for field in told["required"] if field not in given]
    told["examples"] = [{name: value for name, value in kind.example.items() if name not in given}]
    return told


def _list(shape: Definitions) -> Json:
    """Describe a list of definitions."""
    items = {"type": "array", "maxItems": 500, "items": refer(f"Recorded{shape.kind.__name__}")}
    said = {"description": "What is defined, each in its newest version.", **items}
    following = msgspec.json.schema(Next | None)
    return {
        "title": name_of(shape),
        "description": f"One page of {shape.word}.",
        "type": "object",
        "properties": {shape.word: said, "next": {"description": of_answer("", "next"), **following}},
        "required": [shape.word, "next"],
    }
