"""What one unit tells of whom a recall reaches, and what all units tell together."""

import pytest

from service.domain.holder import Holder
from service.domain.recall.asking import Answer
from service.domain.recall.exposure import Hand, Wearer, hands, meanwhile, wearers
from service.domain.recall.impact import Meant, Sitting, State, Touched
from service.domain.recall.people import Exposed, exposed, in_order
from service.domain.recall.spans import Span, Spans
from service.domain.recall.wearings import Wearing
from service.domain.standing import FOREVER
from service.domain.stays import Stay
from tests.domain.units import at

DOCK = Hand(Holder(person="p-1"), "dock", at(0), at(1), 60, certain=True)
CREW = Hand(Holder(crew="c-1"), "works", at(1), None, 30, certain=False)
WORN = Wearer("p-2", "mesa", 2, at(2), at(4), 90, ("worn",), certain=False)
WORN_HERE = Wearer("p-1", "dock", 1, at(3), at(3), 10, ("checked",), certain=True)


def touched(*states: tuple[State, bool], hands: tuple[Hand, ...] = (), wearers: tuple[Wearer, ...] = ()) -> Touched:
    """Touch a unit with sittings of these states, each certain or not."""
    sat = (Sitting("battery", at(0), None, certain=certain, state=state) for state, certain in states)
    meant = tuple(Meant(one, Answer(True, (), at(0), at(0))) for one in sat)
    return Touched(meant, hands, wearers, endless=False)


@pytest.mark.parametrize(
    ("states", "affected", "certain"),
    [
        ([("affected", True)], True, True),
        ([("affected", False)], True, False),
        ([("removed", True), ("affected", False)], True, False),
        ([("affected", False), ("affected", True)], True, True),
        ([("removed", True), ("cleared", False)], False, True),
        ([("removed", False), ("cleared", False)], False, False),
    ],
)
def test_what_is_there_now_decides(states: list[tuple[State, bool]], *, affected: bool, certain: bool) -> None:
    """Any piece makes the unit affected; it is certain if any of those there now is, or with none, any ever."""
    told = touched(*states)
    assert (told.affected, told.certain) == (affected, certain)


def test_sites_are_those_of_hands_and_wearings() -> None:
    """A crew has the unit at its site, too."""
    told = touched(("removed", True), hands=(DOCK, CREW), wearers=(WORN,))
    assert told.exposing == {"dock", "works", "mesa"}


def test_of_some_sites_those_alone_are_told() -> None:
    """Hands and wearings elsewhere are left out, what sat there is not."""
    told = touched(("removed", True), hands=(DOCK, CREW), wearers=(WORN, WORN_HERE))
    there = told.at(frozenset({"dock"}))
    assert (there.hands, there.wearers, there.sittings) == ((DOCK,), (WORN_HERE,), told.sittings)
    both = told.at(frozenset({"works", "mesa"}))
    assert (both.hands, both.wearers) == ((CREW,), (WORN,))


def test_whoever_had_or_wore_several_units_is_told_once() -> None:
    """Seconds and times are added up, from the first to the last; what goes on does up to now."""
    first = touched(hands=(DOCK, CREW), wearers=(WORN, WORN_HERE))
    second = touched(hands=(Hand(Holder(person="p-1"), "dock", at(-5), at(-4), 7, certain=False),))
    nobody = {"times_worn": 0, "worn_seconds": 0}
    assert exposed([first, second], at(9)) == [
        Exposed(
            holder=Holder(person="p-1"),
            certain=True,
            units=2,
            held_seconds=67,
            times_worn=1,
            worn_seconds=10,
            first=at(-5),
            last=at(3),
        ),
        Exposed(
            holder=Holder(person="p-2"),
            certain=False,
            units=1,
            held_seconds=0,
            times_worn=2,
            worn_seconds=90,
            first=at(2),
            last=at(4),
        ),
        Exposed(holder=Holder(crew="c-1"), certain=False, units=1, held_seconds=30, first=at(1), last=at(9), **nobody),
    ]


def test_persons_come_first_then_crews_vehicles_and_places() -> None:
    """Each by name."""
    every = [
        Holder(person="1"),
        Holder(person="z"),
        Holder(crew="1"),
        Holder(crew="c"),
        Holder(vehicle="1"),
        Holder(vehicle="d"),
        Holder(place="1"),
        Holder(place="e"),
    ]
    shuffled = [every[nth] for nth in (6, 1, 4, 3, 0, 7, 5, 2)]
    assert sorted(shuffled, key=in_order) == every


def test_hands_that_hold_nothing_meant_are_left_out() -> None:
    """One that is still open has no end; an emptied position is no hand, and where no site is told there is none."""
    spans, holder = Spans([Span(at(2), None)], at(9)), Holder(person="p-1")
    stays = [
        Stay(None, at(0), at(0), at(2), holder=holder, site="dock"),
        Stay(None, at(2), at(2), at(3), holder=holder),
        Stay("battery", at(2), at(2), at(3)),
        Stay(None, at(9), at(9), FOREVER, holder=holder, site="works"),
    ]
    assert list(hands(stays, spans, True, at(9))) == [
        Hand(holder, "", at(2), at(3), 3600, certain=True),
        Hand(holder, "works", at(9), None, 0, certain=True),
    ]


def test_who_had_what_is_known_to_be_meant_is_told_apart() -> None:
    """By the time of a hand or of any wearing, its day or its end where that is all that is known."""
    spans, sure = Spans([Span(at(2), at(8))], at(9)), Spans([Span(at(4), at(6))], at(9))
    before, after = Holder(person="p-1"), Holder(person="p-2")
    stays = [
        Stay(None, at(2), at(2), at(4), holder=before, site="dock"),
        Stay(None, at(7), at(7), at(8), holder=after, site="dock", day=at(5)),
    ]
    assert [one.certain for one in hands(stays, spans, sure, at(9))] == [False, True]
    worn = [
        Wearing("p-1", at(2), at(3), at(2), at(3), "worn", "dock"),
        Wearing("p-2", at(3), None, at(3), None, "worn", "dock"),
        Wearing("p-1", at(6), at(7), at(6), at(7), "worn", "dock"),
        Wearing("p-2", at(7), at(8), at(7), at(8), "worn", "dock"),
    ]
    assert [one.certain for one in wearers(meanwhile(worn, spans), spans, sure)] == [False, True]
    assert [one.certain for one in wearers(meanwhile(worn, spans), spans, False)] == [False, False]


def test_wearings_are_counted_by_person_and_site() -> None:
    """First and last while it was there, and the seconds of those whose end was said; by whatever kinds known."""
    spans = Spans([Span(at(2), at(5))], at(9))
    worn = [
        Wearing("p-2", at(1), at(3), at(1), at(3), "worn", "dock"),
        Wearing("p-1", at(2), None, at(2), None, "checked", "works"),
        Wearing("p-2", at(4), at(7), at(4), at(7), "worn", "dock"),
        Wearing("p-2", at(4.5), None, at(4.5), None, "checked", "dock"),
    ]
    assert wearers(meanwhile(worn, spans), spans, True) == [
        Wearer("p-1", "works", 1, at(2), at(2), 0, ("checked",), certain=True),
        Wearer("p-2", "dock", 3, at(2), at(4.5), 7200, ("checked", "worn"), certain=True),
    ]


@pytest.mark.parametrize(
    ("worn", "moments"),
    [
        ([(1, 1, None)], (2, 2)),
        ([(1, 1, 4), (3, 3, 3)], (2, 3)),
        ([(4.5, 4.5, None)], (4.5, 4.5)),
        ([(5, 5, None)], (7, 7)),
        ([(6, 6, 8), (6.5, 0, 7)], (6.5, 7)),
        ([(1, -3, None)], (2, 2)),
        ([(5.5, 4, 5.5), (6, 6, None)], (5.5, 7)),
    ],
)
def test_nobody_is_told_to_have_worn_it_before_it_was_there(
    worn: list[tuple[float, float, float | None]], moments: tuple[float, float]
) -> None:
    """What began before it came in, or lasted from one time to the next, counts from then on.

    What states its day alone counts at its own moment of that day, unless that was before.
    """
    spans = Spans([Span(at(2), at(5)), Span(at(7), at(8))], at(9))
    told = [
        Wearing("p-1", at(when), None, at(since), None if ends is None else at(ends), "worn", "dock")
        for when, since, ends in worn
    ]
    [one] = wearers(meanwhile(told, spans), spans, True)
    assert (one.times, one.first, one.last) == (len(worn), *map(at, moments))
