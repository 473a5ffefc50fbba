"""How new rows are cut into runs that are folded in one go."""

from service.recording.runs import places, runs
from tests.domain.folding import Folding
from tests.oracle.firm import PLAIN, check, fails, issue, register, site, tell
from tests.oracle.posting import Posted, log


def lengths(*posted: Posted) -> list[int]:
    """Say how many rows each run has of what is told of a unit in the east, in this order."""
    known = [*PLAIN, site("east", "uk", "Asia/Tokyo"), register("2026-05-01 08:00", site="east")]
    folding = Folding(log([*known, *posted]), [])
    mine = [row for row in folding.rows if getattr(row.event, "asset", None) == "A-1"]
    old, new = mine[:1], mine[1:]
    assert len(new) == len(posted)
    return [len(run) for run in runs(new, frozenset(), folding.world, places(old, new, folding.world))]


def day(at: str, kind: str = "cleaned") -> Posted:
    """Tell something of a day alone, without a site."""
    said = {"cleaned": {"scope": "unit", "method": "wiped"}, "quarantined": {"reason": "damage"}}
    return tell(kind, at, received="2026-06-01 08:00", **said[kind])


def test_what_follows_each_other_is_one_run() -> None:
    """Days without a site among them, wherever the unit is: each check comes after the day before, and in its own."""
    told = [(check(f"2026-05-{on:02} 02:00"), day(f"2026-05-{on:02}")) for on in range(2, 20)]
    assert lengths(*(one for both in told for one in both)) == [36]


def test_a_day_is_held_against_its_neighbours_by_where_the_unit_was() -> None:
    """In the east it ends, and what is bad news begins, nine hours before it does in UTC."""
    assert lengths(issue("2026-05-09 20:00"), day("2026-05-10", "quarantined")) == [1, 1]
    assert lengths(issue("2026-05-09 14:00"), day("2026-05-10", "quarantined")) == [2]
    assert lengths(day("2026-05-10"), check("2026-05-10 16:00")) == [2]
    assert lengths(day("2026-05-10"), check("2026-05-10 14:00")) == [1, 1]


def test_bad_news_counts_no_later_than_it_was_received() -> None:
    """What was received before its moment is cut off from what lies between; good news is where its stamp is."""
    early = {"received": "2026-05-02 07:59", "sent": "2026-05-02 07:59"}
    assert lengths(issue("2026-05-02 08:00"), check("2026-05-02 08:01", points=fails("alarm"), **early)) == [1, 1]
    assert lengths(issue("2026-05-02 08:00"), check("2026-05-02 08:01", **early)) == [2]
    assert lengths(issue("2026-05-02 07:58"), check("2026-05-02 08:01", points=fails("alarm"), **early)) == [2]
