from datetime import datetime

import pytest

from service.domain.explain import Explained, explain, shown
from service.domain.fold import fold
from service.domain.intervals import Interval
from service.domain.rules import RULES
from service.domain.standing import FOREVER, SCALE, Source, Span
from tests.domain.folding import Folding
from tests.domain.units import at, event
from tests.oracle.firm import FIRM, examine, issue, register, tell, wear
from tests.oracle.histories import random_history
from tests.oracle.posting import Posted, log

SOURCE = Source("a clause", "an edition", "read")


def explained(*posted: Posted) -> Explained:
    """Explain one unit of the firm."""
    folding = Folding(log([*FIRM, *posted]), [])
    [unit] = folding.prepared.units
    return explain(unit.start, unit.facts, folding.world)


@pytest.mark.parametrize("seed", range(25))
def test_what_is_explained_is_what_was_told(seed: int) -> None:
    """The intervals are those of the fold, and each rule says at their start what its digit says."""
    history = random_history(seed, 60)
    folding = Folding(history.records, history.reports)
    for unit in folding.prepared.units:
        story = fold(unit.start, unit.facts, folding.world)
        found = explain(unit.start, unit.facts, folding.world)
        assert found.intervals == story.intervals
        for one in found.intervals:
            if one.in_scope:
                said = [spoken(found.rules[rule.name], one.since) for rule in RULES]
                assert "".join(str(SCALE.index(standing)) for standing in said) == one.rules


def spoken(spans: tuple[Span, ...], moment: datetime) -> str:
    """Give the standing a rule gives at a moment."""
    return next(span.standing for span in spans if span.since <= moment < span.until)


def test_spans_are_joined_where_standing_and_reasons_are_equal() -> None:
    """Even if their grounds grow (R53); out of scope nothing is said."""
    told = explained(
        register(),
        examine("2026-02-27 10:00"),
        issue(at(0).isoformat()),
        wear(at(1).isoformat()),
        wear(at(2).isoformat(), "p-2"),
        tell("returned", at(3).isoformat()),
        issue(at(5).isoformat()),
    )
    spans = [(one.since, one.until, one.standing, len(one.because)) for one in told.rules["pre-use-check"]]
    assert spans == [
        (at(0), at(1), "in-date", 0),
        (at(1), at(3), "overdue", 2),
        (at(5), FOREVER, "in-date", 0),
    ]
    assert [one.standing for one in told.rules["thorough-examination"]] == ["in-date", "in-date", "due-soon", "overdue"]


ONE = Interval(
    at(0), at(10), "dock", "hood", "issued", in_scope=True, standing="overdue", do_not_use=True, reasons=("x",)
)
TWO = Interval(at(10), FOREVER, "dock", "hood", "in-store", in_scope=False)
TOLD = Explained(
    (ONE, TWO),
    {"power": (Span(at(-5), at(4), "in-date"), Span(at(4), at(10), "overdue", ("x",), (event(1), event(2)), SOURCE))},
)


def test_intervals_are_shown_cut_to_what_was_asked_with_their_rules() -> None:
    """Events are named by their seq, in order; one that is not known to the reader is left out."""
    assert shown(TOLD, at(5), at(20), {event(2): 7, event(1): 9}) == [
        {
            "standing": "overdue",
            "phase": "issued",
            "site": "dock",
            "in_scope": True,
            "do_not_use": True,
            "reasons": ("x",),
            "since": at(5),
            "until": at(10),
            "rules": [
                {
                    "rule": "power",
                    "standing": "overdue",
                    "reasons": ("x",),
                    "since": at(4),
                    "until": at(10),
                    "because": [7, 9],
                    "source": SOURCE,
                }
            ],
        },
        {
            "standing": "out-of-scope",
            "phase": "in-store",
            "site": "dock",
            "in_scope": False,
            "do_not_use": False,
            "reasons": (),
            "since": at(10),
            "until": at(20),
            "rules": [],
        },
    ]


@pytest.mark.parametrize(
    ("since", "until", "standings", "rules"),
    [
        (0, 4, ["overdue"], [["in-date"]]),
        (0, 5, ["overdue"], [["in-date", "overdue"]]),
        (4, 10, ["overdue"], [["overdue"]]),
        (10, 11, ["out-of-scope"], [[]]),
        (-9, 0, [], []),
        (9.99, 10.01, ["overdue", "out-of-scope"], [["overdue"], []]),
    ],
)
def test_only_what_reaches_into_the_time_asked_is_shown(
    since: float, until: float, standings: list[str], rules: list[list[str]]
) -> None:
    """Half-open: what ends as it begins, or begins as it ends, is left out."""
    found = shown(TOLD, at(since), at(until), {})
    assert [one["standing"] for one in found] == standings
    assert [[rule["standing"] for rule in one["rules"]] for one in found] == rules  # type: ignore[attr-defined] # JSON


def test_what_has_no_end_is_shown_without_one() -> None:
    """Nothing is `until` forever; events not known have no seq."""
    [first, last] = shown(TOLD, at(0), FOREVER, {event(1): 9})
    assert (first["until"], last["until"]) == (at(10), None)
    assert first["rules"][1]["because"] == [9]  # type: ignore[index] # JSON
