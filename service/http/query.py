"""The question in a query string: one frozen struct per route says which parameters there are and what they mean."""

import re
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from datetime import date, datetime
from typing import Annotated, Literal, TypeVar, get_args, get_origin
from urllib.parse import parse_qsl

import msgspec
from msgspec import Meta
from msgspec.structs import FieldInfo, fields

from service.domain.errors import BadParameter
from service.domain.plainly import plainly
from service.domain.pointer import SENTENCES
from service.domain.problem import Fault
from service.domain.words import FIRST_YEAR, LAST_YEAR, PHRASES, Instant
from service.http.request import Connection

Q = TypeVar("Q", bound=msgspec.Struct)

AsAt = Annotated[Instant | None, Meta(description="True at this moment; now if left out.")]
KnownAt = Annotated[Instant | None, Meta(description="By what had been recorded at this moment; by all if left out.")]


class AtMoment(msgspec.Struct, frozen=True, kw_only=True):
    """The two clocks of a question."""

    as_at: AsAt = None
    known_at: KnownAt = None


MAX_PARAMETERS = 50
LISTED = re.compile(r"regex '\^\((.*)\)\$'")
DAY = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")
INSTANT = "RFC3339 encoded datetime"
"""How the decoder calls an instant."""
A_DAY_ALONE = "a date alone is not enough: add a time and an offset from UTC, as in 2026-03-02T05:51:40Z"
WHOLE = re.compile(r"-?[0-9]{1,18}")


def read(request: Connection, asks: type[Q]) -> Q:
    """Read the parameters that a route knows.

    Raises BadParameter with a fault for each that is unknown, repeated, missing or not understood.
    """
    given = pairs(request)
    known = {field.encode_name: field for field in fields(asks)}
    values, faults = {}, [*misplaced(given, known), *missing(given, known)]
    for name, text in given:
        if name in known:
            try:
                values[known[name].name] = value(text, known[name])
            except ValueError as error:
                faults.append(Fault(hint(str(error), text, known[name].type), parameter=name))
    if faults:
        first, *more = faults
        raise BadParameter(str(first.parameter), first.detail, *more)
    return asks(**values)


class Nothing(msgspec.Struct, frozen=True):
    """No parameter at all."""


def refuse_parameters(request: Connection) -> None:
    """Refuse any parameter where the route asks for none; those that ask read their own."""
    if request.scope["query_string"] and "asks" not in request.route_handler.opt:
        read(request, Nothing)


def demand_in_order(since: date | None, until: date | None) -> None:
    """Refuse a last day that lies before the first."""
    if since is not None and until is not None and until < since:
        raise BadParameter("to", "must not lie before 'from'")


def demand_forward(since: datetime | None, until: datetime | None) -> None:
    """Refuse a stretch that ends before it begins."""
    if since is not None and until is not None and until <= since:
        raise BadParameter("to", "must lie after 'from'")


def pairs(request: Connection) -> list[tuple[str, str]]:
    """Give names and texts in the order they came."""
    query = request.scope["query_string"].decode("latin-1")
    try:
        return parse_qsl(query, keep_blank_values=True, errors="strict", max_num_fields=MAX_PARAMETERS)
    except ValueError as error:
        detail = f"At most {MAX_PARAMETERS} parameters, in UTF-8, percent-encoded."
        raise BadParameter("query", detail) from error


def misplaced(given: Iterable[tuple[str, str]], known: Iterable[str]) -> Iterator[Fault]:
    """Find the parameters that the route does not know, and those given more than once."""
    for name, times in Counter(name for name, _ in given).items():
        if name not in known:
            yield Fault(f"There is no such parameter here. Known: {', '.join(known) or 'none'}.", parameter=name)
        elif times > 1:
            yield Fault("This parameter may be given once.", parameter=name)


def missing(given: Iterable[tuple[str, str]], known: Mapping[str, FieldInfo]) -> Iterator[Fault]:
    """Find the parameters that the route needs and that were not given."""
    named = {name for name, _ in given}
    for name, field in known.items():
        if field.required and name not in named:
            yield Fault("This parameter is needed.", parameter=name)


def value(text: str, field: FieldInfo) -> object:
    """Read one parameter as its field's type. ValueError says what is expected."""
    wants_number = int in (field.type, getattr(field.type, "__origin__", None))
    found: object = msgspec.convert(int(text) if wants_number and WHOLE.fullmatch(text) else text, field.type)
    if isinstance(found, datetime | date) and not FIRST_YEAR <= found.year <= LAST_YEAR:
        message = f"must lie in the years {FIRST_YEAR} to {LAST_YEAR}"
        raise ValueError(message)
    return found


def hint(error: str, text: str, kind: object) -> str:
    """Say what to send instead."""
    if DAY.fullmatch(text) and INSTANT in error:
        return A_DAY_ALONE
    if error in SENTENCES:
        plus = "; in an address its '+' is written %2B" if " " in text else ""
        return SENTENCES[error] + plus
    if words := choices(kind):
        return f"must be one of {', '.join(words)}"
    if listed := LISTED.search(error):
        return f"must be one of {listed[1].replace('|', ', ')}"
    phrase = next((phrase for pattern, phrase in PHRASES.items() if repr(pattern) in error), None)
    return f"must be {phrase}" if phrase else plainly(error).removesuffix(", not a text")


def choices(kind: object) -> list[str]:
    """List the words that a type allows, also where it allows nothing else to be said."""
    if get_origin(kind) is Literal:
        return list(get_args(kind))
    return [word for part in get_args(kind) for word in choices(part)]
