import io

from rich.console import Console

from service.commands.summary_table import table

LINE = {
    "units": 412,
    "in_scope": 371,
    "compliant": 352,
    "rate": 0.9487,
    "by_standing": {"in-date": 331, "due-soon": 21, "overdue": 11, "do-not-use": 8, "out-of-scope": 41},
    "uses": {"covered": 341, "of": 349},
}
EMPTY = {
    "units": 0,
    "in_scope": 0,
    "compliant": 0,
    "rate": None,
    "by_standing": {},
    "uses": {"covered": 0, "of": 0},
}


def test_table_shows_every_site_and_the_total() -> None:
    """A line a site and one for all; a rate of nothing is a dash and not a zero."""
    summary = {
        "as_at": "2026-03-02T12:00:00Z",
        "sites": [{"site": "harrow-dock", "profile": "uk", **LINE}, {"site": "new-yard", "profile": None, **EMPTY}],
        "total": LINE,
    }
    out = io.StringIO()
    Console(file=out, width=80).print(table(summary))
    lines = [line.split() for line in out.getvalue().splitlines()]
    rows = [line for line in lines if line and line[0] in {"harrow-dock", "new-yard", "all"}]
    assert rows == [
        ["harrow-dock", "uk", "412", "371", "352", "0.9487", "331", "21", "11", "8", "341/349"],
        ["new-yard", "0", "0", "0", "-", "0", "0", "0", "0", "0/0"],
        ["all", "412", "371", "352", "0.9487", "331", "21", "11", "8", "341/349"],
    ]
    assert "2026-03-02T12:00:00Z" in out.getvalue()
