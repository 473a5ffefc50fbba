"""The compliance summary of all sites as a table for the terminal."""

from collections.abc import Mapping
from typing import Any

from rich.table import Column, Table

Line = Mapping[str, Any]
STANDINGS = ("in-date", "due-soon", "overdue", "do-not-use")


def table(summary: Line) -> Table:
    """Draw the answer of GET /v1/compliance: one line a site, then the total."""
    numbers = ("units", "in scope", "compliant", "rate", *STANDINGS, "uses covered")
    drawn = Table(
        Column("site", no_wrap=True),
        "profile",
        *(Column(name, justify="right") for name in numbers),
        title=f"Compliance of all sites at {summary['as_at']}",
        show_footer=False,
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
