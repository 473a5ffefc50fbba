"""Cases of the fuzzing, and what makes some of them reach further than chance would."""

import json
import re
from collections.abc import Iterator
from itertools import islice
from typing import Any, Final

import schemathesis
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st
from schemathesis import GenerationMode

from service.http.negotiation import CSV, NDJSON
from service.http.position import HEADER

Json = dict[str, Any]

#: What the firm of the tests has, by the name under which it is asked for.
KNOWN_PARTS: Final = {
    "tag": "FX-0142",
    "ref": {"sites": "harrow-dock", "models": "northwind-2", "policies": "pre-use-check", "recalls": "rc-1"},
    "report": "used-without-check",
    "code": "not-found",
    "webhook_id": "0198c1f2-b000-7000-8000-0000000000d1",
}
KNOWN_FIELDS: Final = {
    "site": "harrow-dock",
    "to_site": "east-yard",
    "asset": "FX-0142",
    "fitted_to": "FX-0142",
    "model": "northwind-2",
    "position": "battery",
    "item": "pf-170",
}


@schemathesis.serializer(NDJSON)
def as_lines(_: Any, value: Any) -> bytes:
    """Write what a stream of lines is described to say; what is no list is a line."""
    return "\n".join(json.dumps(one) for one in (value if isinstance(value, list) else [value])).encode()


@schemathesis.serializer(CSV)
def as_table(_: Any, value: Any) -> bytes:
    """Write what is sent as a table: a text as it is."""
    return (value if isinstance(value, str) else json.dumps(value)).encode("utf-8", "replace")


def run(operation: Any, mode: GenerationMode, cases: int, ask: Any) -> None:
    """Ask an operation so many times, with what it allows or with what it forbids; the same each time."""

    @settings(
        max_examples=cases,
        derandomize=True,
        database=None,
        deadline=None,
        phases=(Phase.generate,),
        suppress_health_check=list(HealthCheck),
    )
    @given(case=operation.as_strategy(mode), known=st.booleans())
    def asked(case: Any, known: bool) -> None:
        if known and mode is GenerationMode.POSITIVE:
            aim(case)
        ask(case)

    asked()


def systematic(schema: Any, operation: Any, most: int) -> Iterator[Any]:
    """Give cases at the bounds of what an operation allows, and methods that its address does not take."""
    modes = [GenerationMode.POSITIVE, GenerationMode.NEGATIVE]
    config = schema.config.generation_for(operation=operation)
    return islice(schema.iter_coverage_cases(operation, generation_modes=modes, generation_config=config), most)


def impatient(case: Any) -> None:
    """Have nothing waited for that does not come: what may be any number is none."""
    if re.fullmatch("[0-9]|[12][0-9]|30", str(case.query.get("wait", ""))):
        case.query["wait"] = 0
    if re.fullmatch("[0-9]{1,18}", str(case.headers.get(HEADER, ""))):
        case.headers[HEADER] = "0"


def aim(case: Any) -> None:
    """Turn a case to what there is: names that are defined, and no condition or cursor made up."""
    word = case.operation.path.split("/")[2] if case.operation.path.startswith("/v1/") else ""
    for name in (case.path_parameters or {}) if case.method != "DELETE" else ():  # what there is, is to stay
        known = KNOWN_PARTS.get(name)
        found = known.get(word) if isinstance(known, dict) else known
        if found is not None:
            case.path_parameters[name] = found
    case.query.pop("after", None)
    for name in ("If-None-Match", "Date", "Prefer", "Last-Event-ID"):
        case.headers.pop(name, None)
    if case.method == "PUT":
        case.headers["If-Match"] = "*"
    case.body = aimed(case.body)


def aimed(body: Any) -> Any:
    """Give a body that names what there is, wherever it names something."""
    if isinstance(body, list):
        return [aimed(one) for one in body]
    if isinstance(body, dict):
        return {
            name: KNOWN_FIELDS[name] if name in KNOWN_FIELDS and isinstance(value, str) else aimed(value)
            for name, value in body.items()
        }
    return body
