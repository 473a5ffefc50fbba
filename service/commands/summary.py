"""Ask a running service for the compliance summary, and print it: as a table, as CSV, or as JSON.

The address and the key come from RESPIRATORS_URL and RESPIRATORS_KEY, or from the arguments; other users of the machine
can see arguments, so the key is better told in the environment. The key's role must be one that may read the summary.
"""

import argparse
import os
from collections.abc import Mapping

from service.commands import arguments
from service.commands.failures import KeyNeeded, NotAnswered

EXAMPLES = """  RESPIRATORS_URL=http://127.0.0.1:8080 RESPIRATORS_KEY=rl_... respirators summary
  respirators summary --site harrow-dock --as-at 2026-03-02T12:00:00Z
  respirators summary --csv --group-by region > summary.csv
"""
ADDRESS = "http://127.0.0.1:8080"
TABLE, CSV, JSON = "text/plain", "text/csv", "application/json"
PATIENCE_SECONDS = 60
OK = 200
ASKED = ("as_at", "known_at", "site", "region", "profile", "model", "group_by")
"""Parameters of GET /v1/compliance that the command takes under the same names."""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the command's arguments."""
    parser.add_argument("--address", metavar="URL", help=f"where the service listens (RESPIRATORS_URL, {ADDRESS})")
    parser.add_argument("--key", help="a key of the service (RESPIRATORS_KEY)")
    form = parser.add_mutually_exclusive_group()
    form.add_argument("--csv", dest="form", action="store_const", const=CSV, help="for a spreadsheet: a line a site")
    form.add_argument("--json", dest="form", action="store_const", const=JSON, help="the whole answer")
    for name, what in (("--as-at", "true then (now)"), ("--known-at", "by what was recorded then (all)")):
        parser.add_argument(
            name, metavar="WHEN", type=arguments.moment, help=f"{what}: a moment with offset, or a date, to its end"
        )
    for name, what in (("--site", "this site alone"), ("--region", "its sites"), ("--model", "units of it alone")):
        parser.add_argument(name, metavar="REF", help=what)
    parser.add_argument("--profile", metavar="JURISDICTION", help="the sites of this jurisdiction, such as uk")
    parser.add_argument("--group-by", metavar="WHAT", help="the same numbers by region, profile or model, too")
    parser.set_defaults(form=TABLE)


def run(options: argparse.Namespace) -> int:
    """Ask, and print what came, byte for byte."""
    import sys

    from service.serving import run as run_async

    address = options.address or os.environ.get("RESPIRATORS_URL") or ADDRESS
    key = options.key or os.environ.get("RESPIRATORS_KEY")
    if not key:
        raise KeyNeeded
    sys.stdout.buffer.write(run_async(asked(address, key, options.form, question(options))))
    sys.stdout.buffer.flush()
    return 0


def question(options: argparse.Namespace) -> dict[str, str]:
    """Give the parameters that were given."""
    given = {name: getattr(options, name) for name in ASKED}
    return {
        name: value if isinstance(value, str) else value.isoformat()
        for name, value in given.items()
        if value is not None
    }


async def asked(address: str, key: str, form: str = TABLE, parameters: Mapping[str, str] | None = None) -> bytes:
    """Ask a service for the summary in a form; raises NotAnswered with what it says, or why it says nothing."""
    import httpx

    headers = {"Authorization": f"Bearer {key}", "Accept": form}
    try:
        async with httpx.AsyncClient(base_url=address, timeout=PATIENCE_SECONDS) as client:
            answer = await client.get("/v1/compliance", headers=headers, params=parameters)
    except httpx.ConnectError as failure:
        raise NotAnswered(address, f"nobody listens there ({failure}); `serve` or `up` starts the service") from failure
    except (httpx.HTTPError, httpx.InvalidURL) as failure:
        raise NotAnswered(address, str(failure)) from failure
    if answer.status_code != OK:
        raise NotAnswered(address, _told(answer.content) or f"it answered with status {answer.status_code}")
    return answer.content


def _told(body: bytes) -> str | None:
    """Give the sentence of a problem; None where the body is none."""
    import msgspec

    try:
        problem = msgspec.json.decode(body, type=dict[str, object])
    except msgspec.DecodeError:
        return None
    return str(problem["detail"]) if "detail" in problem else None
