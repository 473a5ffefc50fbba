"""The summary in its forms: JSON as it is, a line a site or group for spreadsheets, and tables for the terminal."""

from collections.abc import Iterator, Mapping
from typing import Any, get_args

import msgspec

from service.domain.rules import RULES
from service.domain.standing import Standing
from service.domain.unit import Phase
from service.http import tables, text_table
from service.http.answers import Answer, answer
from service.http.negotiation import CSV, TEXT

Line = Mapping[str, Any]

SAID = ("as_at", "known_at", "site", "name", "region", "profile", "profile_complete", "time_zone", "closed")
COUNTED = ("units", "in_scope", "compliant", "rate")
COLUMNS = (
    *SAID,
    *COUNTED,
    *(f"by_standing.{standing}" for standing in get_args(Standing)),
    *(f"by_phase.{phase}" for phase in get_args(Phase) if phase != "retired"),
    *(f"{both}" for both in ("uses.covered", "uses.of", "unit_days.compliant", "unit_days.of")),
    *(f"by_rule.{rule.name}.{standing}" for rule in RULES for standing in ("due-soon", "overdue", "do-not-use")),
    *("line", "group"),
    *("projection", "judged_to", "rules_to", "loosened_rules"),
)
NUMBERS = (
    *("units", "in scope", "compliant", "rate"),
    *("in-date", "due-soon", "overdue", "do-not-use", "uses covered"),
)
PROJECTION = "This is a projection: how things will stand if nothing more is recorded."
CAUTION = "This keeps records and reminds; it makes no unit safe. A unit that fails a check is not used."


def told(summary: Line, media: str) -> Answer:
    """Answer with the summary in a form."""
    if media == CSV:
        return Answer(tables.written(COLUMNS, lines(summary)), media_type=tables.CSV_MEDIA)
    if media == TEXT:
        return Answer(table(msgspec.to_builtins(summary)), media_type=TEXT)
    return answer(summary)


def lines(summary: Line) -> Iterator[Line]:
    """Give a line for each site, then for each group, and last the total; `line` says which it is.

    Each says what the whole summary rests on, `loosened_rules` as a count: lines are sorted and sent on by themselves.
    """
    rests_on = {name: summary[name] for name in ("as_at", "known_at", "projection", "judged_to", "rules_to")}
    rests_on["loosened_rules"] = len(summary["loosened_rules"])
    every = {"site": summary["sites"], "group": summary.get("groups", ()), "total": [summary["total"]]}
    for line, sums in every.items():
        for one in sums:
            yield rests_on | {"line": line} | one


def table(summary: Line) -> bytes:
    """Draw the table, and one of the groups below it; loosened rules are told last, for they bear on every number."""
    title = f"Compliance at {summary['as_at']}, as known at {summary['known_at']}"
    drawn = text_table.drawn(
        title,
        ("site", "profile", *NUMBERS),
        [[site["site"], site["profile"] or "-", *numbers(site)] for site in summary["sites"]],
        ["all", "", *numbers(summary["total"])],
    )
    if "groups" in summary:
        grouped = [[group["group"] or "-", *numbers(group)] for group in summary["groups"]]
        drawn += b"\n" + text_table.drawn("By group", ("group", *NUMBERS), grouped, ["all", *numbers(summary["total"])])
    loosened = len(summary["loosened_rules"])
    told = f"Loosened rules: {loosened}; 'loosened_rules' of the JSON form names them.\n" if loosened else ""
    ahead = f"{PROJECTION}\n" if summary["projection"] else ""
    return drawn + f"\n{ahead}{told}{CAUTION}\n".encode()


def numbers(line: Line) -> list[str]:
    """Write the numbers of one line; a rate of nothing is a dash."""
    standing, uses = line["by_standing"], line["uses"]
    return [
        *(str(line[name]) for name in ("units", "in_scope", "compliant")),
        "-" if line["rate"] is None else f"{line['rate']:.4f}",
        *(str(standing.get(name, 0)) for name in ("in-date", "due-soon", "overdue", "do-not-use")),
        f"{uses['covered']}/{uses['of']}",
    ]
