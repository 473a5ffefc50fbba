"""The compliance summary of all sites as a table for the terminal."""

from collections.abc import Mapping
from typing import Any

from rich.box import SIMPLE_HEAD
from rich.table import Column, Table

Line = Mapping[str, Any]
STANDINGS = ("in-date", "due-soon", "overdue", "do-not-use")
NUMBERS = (
    "units",
    "in\nscope",
    "com-\npliant",
    "rate",
    "in\ndate",
    "due\nsoon",
    "over-\ndue",
    "do not\nuse",
    "uses\ncovered",
)
"""The heads of the columns, short enough for a terminal of 80 characters."""


def table(summary: Line) -> Table:
    """Draw the answer of GET /v1/compliance: one line a site, then the total."""
    drawn = Table(
        Column("site", no_wrap=True),
        Column("pro-\nfile", no_wrap=True),
        *(Column(words, justify="right", no_wrap=True) for words in NUMBERS),
        title=f"Compliance of all sites at {summary['as_at']}",
        box=SIMPLE_HEAD,
        padding=0,
        show_edge=False,
    )
    for site in summary["sites"]:
        drawn.add_row(site["site"], site["profile"] or "", *_numbers(site))
    drawn.add_section()
    drawn.add_row("all", "", *_numbers(summary["total"]))
    return drawn


def _numbers(line: Line) -> list[str]:
    """Write the numbers of one line; a rate of nothing is a dash."""
    standing, uses = line["by_standing"], line["uses"]
    rate = "-" if line["rate"] is None else f"{line['rate']:.4f}"
    counts = [str(standing.get(name, 0)) for name in STANDINGS]
    return [
        *(str(line[name]) for name in ("units", "in_scope", "compliant")),
        rate,
        *counts,
        f"{uses['covered']}/{uses['of']}",
    ]
