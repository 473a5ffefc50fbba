"""The counts of exceptions in their forms: JSON as it is, and for spreadsheets a line a report and site."""

from collections.abc import Iterator, Mapping
from typing import Any

from service.http import tables
from service.http.answers import Answer, answer
from service.http.columns import COUNT
from service.http.negotiation import CSV

Counts = Mapping[str, Any]


def told(counted: Counts, media: str) -> Answer:
    """Answer with the counts in a form."""
    if media == CSV:
        return Answer(tables.written(COUNT, lines(counted)), media_type=tables.CSV_MEDIA)
    return answer(counted)


def lines(counted: Counts) -> Iterator[Counts]:
    """Give a line for each site of a report, and last of it the total; `line` says which it is."""
    rests_on = {name: value for name, value in counted.items() if name != "reports"}
    for report in counted["reports"]:
        said = rests_on | {"report": report["report"], "about": report["about"]}
        for site in report["sites"]:
            yield said | {"line": "site"} | site
        yield said | {"line": "total", "rows": report["rows"], "open": report["open"]}
