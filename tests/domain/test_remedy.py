"""What was done about a recall: of several remedies those that clear more are kept."""

from typing import Any

from service.domain.kin import fold_kin
from service.domain.unit import Remedy
from tests.domain.folding import Folding
from tests.domain.units import at
from tests.oracle.firm import PLAIN, part, register, tell
from tests.oracle.posting import log, say


def test_a_remedy_covers_what_counts_no_later_and_was_in_no_later() -> None:
    """One of a day alone counts at its end, and covers none of an hour: what came in meanwhile may have come after."""
    day, noon = Remedy(at(12), at(-12)), Remedy(at(0), at(0))
    assert [day.covers(noon), noon.covers(day), noon.covers(noon)] == [False, False, True]
    assert Remedy(at(12), at(0)).covers(day)


def test_what_clears_several_recalls_is_kept_in_order() -> None:
    """What is stored is the same in every process: none rests on the order of a set of texts."""
    recalls = [f"r-{number}" for number in range(9)]
    criteria = [{"item": "p3", "lot": "L-9"}]
    fields: dict[str, Any] = {"action": "stop-use", "criteria": criteria}
    opened = [say("recall-opened", "2026-01-05 10:00", "m-2", recall=recall, **fields) for recall in recalls]
    filters = [{"position": "particle-filter", "part": part("p3")}]
    known = tell("part-identified", "2026-01-05 11:00", position="particle-filter", part=part("p3", lot="L-1"))
    folding = Folding(log([*PLAIN, register(parts=filters), *opened, known]), [])
    rows = [row for row in folding.rows if getattr(row.event, "asset", None) == "A-1"]
    (story,) = fold_kin(rows, [], folding.world.fresh()).stories
    assert [*story.folded.unit.remedied] == recalls
