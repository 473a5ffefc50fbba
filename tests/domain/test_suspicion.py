from datetime import datetime
from typing import Any

import pytest

from service.domain.facts import Fact, echo
from service.domain.suspicion import (
    DOUBTS,
    clock_doubts,
    counts_at_receipt,
    doubts,
    echoes,
    good_moments,
    lies_before,
    watch,
    with_echoes,
)
from tests.domain.units import at, fact, row, world
from tests.oracle.firm import check, policy, tell
from tests.oracle.posting import Posted

WORLD = world()
TOLERANT = world(policy("clock", {"tolerance": "PT10M"}, site="dock"))
LONG_AGO = datetime.fromisoformat("2026-01-05T08:00:00+00:00")


def bad(hours: float = 0, late: float = 0.01, clock: float | None = 0, **fields: Any) -> Posted:
    """Quarantine a unit; the message comes so many hours late and states a clock off by so many minutes, or none."""
    received = at(hours + late)
    sent = None if clock is None else at(hours + late - clock / 60).isoformat()
    return tell(
        "quarantined", at(hours).isoformat(), reason="other", received=received.isoformat(), sent=sent, **fields
    )


def good(hours: float) -> Posted:
    """Clean a unit."""
    return tell("cleaned", at(hours).isoformat(), scope="unit", method="wiped")


def repeated(*posted: Posted, **fields: Any) -> list[Fact]:
    """Give the echoes of messages about one unit."""
    return echoes([fact(one, WORLD, number, **fields) for number, one in enumerate(posted, 1)], LONG_AGO, WORLD)


@pytest.mark.parametrize(("minutes", "suspect"), [(5, False), (5.01, True), (-5, False), (-5.01, True), (None, False)])
def test_a_clock_is_suspect_beyond_the_tolerance_in_either_direction(minutes: float | None, suspect: bool) -> None:
    """Exactly five minutes off are tolerated; a message that states no clock is not judged by it (R8)."""
    assert list(clock_doubts(row(bad(clock=minutes)), WORLD)) == ["clock"] * suspect


def test_the_tolerance_is_that_of_the_events_own_site() -> None:
    """A policy for a site holds for events of the site, as it was at receipt."""
    assert not list(clock_doubts(row(bad(clock=8, site="dock")), TOLERANT))
    assert list(clock_doubts(row(bad(clock=8)), TOLERANT))
    assert list(clock_doubts(row(bad(clock=11, site="dock")), TOLERANT))


def test_a_contradicted_counter_makes_it_suspect() -> None:
    """Whatever the clock says."""
    assert list(clock_doubts(row(bad(), suspect_order=True), WORLD)) == ["counter"]


def test_every_doubt_has_its_word() -> None:
    """Of good news the clock and the registration are doubted, of bad news its lateness and its counter, too (R8)."""
    wrong, right = fact(bad(late=3, clock=9), WORLD), fact(bad(late=3, clock=1), WORLD)
    late, cleaned = fact(bad(late=3, clock=None), WORLD), fact(good(1), WORLD)
    out_of_line = fact(bad(clock=9), WORLD, suspect_order=True)

    def said(known: Fact, registered_at: datetime = LONG_AGO) -> list[str]:
        return list(doubts(known, good_moments([late, cleaned]), registered_at, WORLD))

    assert good_moments([late, cleaned]) == [at(1)]
    assert (said(wrong), said(right), said(late), said(cleaned)) == (["clock"], [], ["late"], [])
    assert said(out_of_line) == ["counter", "clock"]
    assert said(cleaned, at(2)) == ["before-registration"]
    assert said(wrong, at(2)) == ["clock", "before-registration"]
    assert set(DOUBTS) == {"clock", "counter", "before-registration", "late", "ahead"}


def test_bad_news_with_a_suspect_clock_counts_again_at_its_receipt() -> None:
    """The echo is the same event at the moment of receipt, judged as the original; it comes after its instant."""
    [original] = [fact(bad(late=3, clock=9), WORLD)]
    [again] = echoes([original], LONG_AGO, WORLD)
    assert (again.at, again.ends, again.echo, again.as_of) == (at(3), at(3), True, original.as_of)
    assert again.key == (at(3), *original.key[1:-1], True)
    assert with_echoes([original], LONG_AGO, WORLD) == [original, again]


def test_bad_news_received_before_its_moment_counts_when_it_is_received() -> None:
    """Nobody is told of what is still to come (design 3.6); of good news there is no doubt by that."""
    [early] = [fact(bad(late=-0.05), WORLD)]
    [at_once] = echoes([early], LONG_AGO, WORLD)
    assert (at_once.at, at_once.echo, early.at) == (at(-0.05), True, at(0))
    assert with_echoes([early], LONG_AGO, WORLD) == [at_once, early]
    assert list(doubts(early, [], LONG_AGO, WORLD)) == ["ahead"]
    assert list(doubts(fact(bad(late=0), WORLD), [], LONG_AGO, WORLD)) == []
    cleaned = tell("cleaned", at(0).isoformat(), scope="unit", method="wiped", received=at(-0.05).isoformat())
    assert list(doubts(fact(cleaned, WORLD), [], LONG_AGO, WORLD)) == []


@pytest.mark.parametrize(
    ("late", "clock", "counts"), [(-0.05, 0, True), (0, 9, False), (0, 0, False), (1, 0, False), (1, 9, True)]
)
def test_what_is_of_no_unit_counts_at_receipt_for_the_same_reasons(late: float, clock: float, counts: bool) -> None:
    """Ahead of it, or by a suspect clock; received at its very moment it counts then anyway."""
    assert counts_at_receipt(row(bad(late=late, clock=clock)), at(0), WORLD) is counts


def test_good_news_never_counts_again() -> None:
    """A suspect clock behind good news changes nothing."""
    assert repeated(check(at(0).isoformat(), sent=at(9).isoformat())) == []


def test_bad_news_received_at_its_very_instant_needs_no_echo() -> None:
    """It counts then anyway."""
    assert repeated(bad(late=0, clock=9)) == []


@pytest.mark.parametrize(
    ("hours", "late", "other", "suspect"),
    [
        (0, 1.01, 0.5, True),
        (0, 1, 0.5, False),
        (0, 2, 2, True),
        (0, 2, 2.01, False),
        (0, 2, 0, False),
        (0, 2, -1, False),
    ],
)
def test_late_without_a_clock_it_is_suspect_where_good_news_overtook_it(
    hours: float, late: float, other: float, suspect: bool
) -> None:
    """Over an hour late, with good news later than the stamp and not later than the receipt (R8)."""
    assert bool(repeated(bad(hours, late, None), good(other))) is suspect


def test_late_with_a_right_clock_it_is_believed() -> None:
    """A message that states its clock is not suspect for lateness, and an import never is."""
    assert repeated(bad(0, 5), good(1)) == []
    assert repeated(bad(0, 5, None), good(1), imported=True) == []


def test_other_bad_news_does_not_overtake() -> None:
    """Only good news of the unit counts in between."""
    assert repeated(bad(0, 5, None), bad(1)) == []


def test_bad_news_before_the_registration_is_suspect() -> None:
    """What is said of a time before the unit was known counts when it was received, too."""
    early = fact(bad(), WORLD)
    assert echoes([early], at(0.001), WORLD) != []
    assert echoes([early], at(0), WORLD) == []


@pytest.mark.parametrize(
    ("posted", "moment", "before"),
    [
        (good(0), at(0), False),
        (good(0), at(0.01), True),
        (tell("cleaned", "2026-03-02", scope="unit", method="wiped"), at(12), True),
        (tell("cleaned", "2026-03-02", scope="unit", method="wiped"), at(11.99), False),
        (tell("quarantined", "2026-03-02", reason="other"), at(12), True),
        (tell("quarantined", "2026-03-02", reason="other"), at(11.99), False),
    ],
)
def test_a_date_lies_before_a_moment_with_its_whole_day(posted: Posted, moment: datetime, before: bool) -> None:
    """Good news and bad; an instant does if it is earlier."""
    assert lies_before(fact(posted, WORLD), moment) is before


def test_an_echo_lies_where_it_was_received() -> None:
    """Of a date, too."""
    again = echo(fact(tell("quarantined", "2026-03-02", reason="other", received=at(5).isoformat()), WORLD))
    assert lies_before(again, at(5.01))
    assert not lies_before(again, at(5))


def test_late_bad_news_without_a_clock_is_watched_up_to_its_receipt() -> None:
    """Good news still to come could overtake it; of several the last receipt counts."""
    late = [fact(bad(0, 5, None), WORLD, 1), fact(bad(1, 9, None), WORLD, 2), fact(bad(2, 2, None), WORLD, 3)]
    assert watch(late) == at(10)
    assert watch([fact(bad(0, 5), WORLD), fact(good(0), WORLD), fact(bad(0, 0.5, None), WORLD)]) is None
    assert watch([echo(late[0])]) is None
