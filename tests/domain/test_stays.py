"""Which part sat where, and who had a unit, from when to when."""

from collections.abc import Sequence
from datetime import datetime
from itertools import pairwise
from typing import Any

import pytest
from msgspec.structs import replace

from service.domain.holder import Holder
from service.domain.kin import fold_kin, resume
from service.domain.part import Part
from service.domain.standing import FOREVER
from service.domain.stays import Stay, Stays, joined
from service.domain.unit import Fitted
from tests.domain import units
from tests.domain.folding import Folding
from tests.oracle.firm import PLAIN, issue, part, register, tell
from tests.oracle.posting import Posted, log, moment

Told = tuple[str | None, str, str, str | None]
"""The position, who or what stayed, since when and until when (None: goes on)."""


def told(posted: Sequence[Posted], parts: Sequence[int] = ()) -> list[Told]:
    """Fold the unit from its beginning, or on after each of these numbers of events; give its stays."""
    folding = Folding(log([*PLAIN, *posted]), [])
    rows = [row for row in folding.rows if getattr(row.event, "asset", None) == "A-1"]
    cuts = [*parts, len(rows)]
    story = fold_kin(rows[: cuts[0]], [], folding.world.fresh())
    stays: tuple[Stay, ...] = story.stories[0].stays
    for begin, end in pairwise(cuts):
        assert story.snapshot is not None
        more = resume(story.snapshot, rows[begin:end], story.tags, folding.world.fresh())
        assert more is not None
        stays, story = joined(stays, more.stories[0].stays, more.stories[0].gone), more
    return [line(stay) for stay in stays]


def line(stay: Stay) -> Told:
    """Tell a stay in a line; in an emptied position nobody and nothing stays."""
    who = stay.part.lot or stay.part.item if stay.part else next(iter(held(stay)), "")
    return stay.position, who, clock(stay.since), None if stay.until == FOREVER else clock(stay.until)


def held(stay: Stay) -> list[str]:
    """Name who has it."""
    holder = stay.holder
    return [] if holder is None else [name for name in (holder.person, holder.crew, holder.place) if name is not None]


def clock(at: datetime) -> str:
    """Give the time of day."""
    return f"{at:%H:%M}"


def swap(at: str, lot: str | None, out: str | None = None) -> Posted:
    """Put a filter in at the dock, and perhaps say of which lot the one was that came out."""
    new: dict[str, Any] = {"in": part("p3", lot=lot)} | ({} if out is None else {"out": {"item": "p3", "lot": out}})
    return tell("filter-replaced", at, position="particle-filter", reason="loading", site="dock", **new)


DAY = [
    register(at="2026-01-05 08:00", parts=[{"position": "particle-filter", "part": part("p3", lot="L-1")}]),
    issue("2026-01-05 09:00", "p-1"),
    swap("2026-01-05 10:00", "L-2"),
    issue("2026-01-05 11:00", "p-2"),
    swap("2026-01-05 12:00", None),
    tell("part-identified", "2026-01-05 13:00", position="particle-filter", part=part("p3", lot="L-3")),
    tell("returned", "2026-01-05 14:00"),
    tell("part-replaced", "2026-01-05 15:00", position="particle-filter", reason="damage"),
    issue("2026-01-05 16:00", "p-1"),
]
DATE = units.NOON.date()
STAYS: list[Told] = [
    ("particle-filter", "L-1", "08:00", "10:00"),
    (None, "p-1", "09:00", "11:00"),
    ("particle-filter", "L-2", "10:00", "12:00"),
    (None, "p-2", "11:00", "14:00"),
    ("particle-filter", "p3", "12:00", "13:00"),
    ("particle-filter", "L-3", "13:00", "15:00"),
    ("particle-filter", "", "15:00", None),
    (None, "p-1", "16:00", None),
]


@pytest.mark.parametrize("parts", [[], [1], [3], [2, 5], [1, 2, 3, 4, 5, 6, 7, 8]])
def test_stays_follow_each_other(parts: list[int]) -> None:
    """Each part stays until another comes or it is named, each hand until the next: however the fold goes on."""
    assert told(DAY, parts) == STAYS


def test_a_part_that_is_named_began_when_it_was_put_in() -> None:
    """Its stay under the new name knows since when it sat there."""
    folding = Folding(log([*PLAIN, *DAY[:6]]), [])
    rows = [row for row in folding.rows if getattr(row.event, "asset", None) == "A-1"]
    stays = fold_kin(rows, [], folding.world.fresh()).stories[0].stays
    named = stays[-1]
    assert (named.since, named.began) == (moment("2026-01-05 13:00"), moment("2026-01-05 12:00"))


def test_what_stays_for_no_time_is_none() -> None:
    """Of two hands at one instant the second has it, and the first never had."""
    given = [register(at="2026-01-05 08:00"), issue("2026-01-05 09:00", "p-1"), issue("2026-01-05 09:00", "p-2")]
    assert [stay[2:] for stay in told(given)] == [("09:00", None)]


def test_the_same_holder_again_goes_on() -> None:
    """A unit issued again to whoever has it stays in that hand."""
    given = [register(at="2026-01-05 08:00"), issue("2026-01-05 09:00", "p-1"), issue("2026-01-05 10:00", "p-1")]
    assert told(given) == [(None, "p-1", "09:00", None)]


def test_a_part_of_which_more_is_said_stays_on() -> None:
    """Told again with the same names and another condition, it is the same part, and stays once."""
    said = {"item": "p3", "lot": "L-1", "condition": "refitted"}
    given = [*DAY[:2], tell("part-identified", "2026-01-05 10:00", position="particle-filter", part=said)]
    assert told(given) == told(given, [2]) == [("particle-filter", "L-1", "08:00", None), (None, "p-1", "09:00", None)]


@pytest.mark.parametrize(
    ("first", "out", "before"),
    [
        ("L-1", "L-1", [("L-1", "08:00", "10:00")]),
        ("L-1", "L-7", [("L-1", "08:00", "10:00"), ("L-7", "09:59", "10:00")]),
        (None, "L-7", [("p3", "08:00", "10:00"), ("L-7", "09:59", "10:00")]),
    ],
)
def test_what_came_out_is_named_in_its_last_moment(first: str | None, out: str, before: list[Any]) -> None:
    """Beside the name it had, if that is another; whatever happens elsewhere in the unit later names it no more."""
    given = [
        register(at="2026-01-05 08:00", parts=[{"position": "particle-filter", "part": part("p3", lot=first)}]),
        swap("2026-01-05 10:00", "L-2", out),
    ]
    later = tell(
        "part-replaced", "2026-01-05 12:00", position="battery", reason="schedule", in_=part("cell", lot="C-1")
    )
    mine = [*(("particle-filter", *line) for line in before), ("particle-filter", "L-2", "10:00", None)]
    assert told(given) == mine
    assert told([*given, later]) == told([*given, later], [2]) == [*mine, ("battery", "C-1", "12:00", None)]


def test_what_came_out_of_a_position_that_nothing_was_said_of_is_named_too() -> None:
    """In its last moment alone; not where it came out as the unit began."""
    given = [register(at="2026-01-05 08:00"), swap("2026-01-05 10:00", "L-2", "L-7")]
    assert told(given) == [("particle-filter", "L-7", "09:59", "10:00"), ("particle-filter", "L-2", "10:00", None)]
    for at_once in ("2026-01-05 08:00", "2026-01-05 08:00:00.000001"):
        given = [register(at="2026-01-05 08:00"), swap(at_once, "L-2", "L-7")]
        assert told(given) == [("particle-filter", "L-2", "08:00", None)]


def test_what_came_out_of_an_emptied_position_is_named_nowhere() -> None:
    """Nothing sat there: whoever says otherwise tells of no part that had been put in."""
    emptied = tell("part-replaced", "2026-01-05 09:00", position="particle-filter", reason="damage")
    given = [DAY[0], emptied, swap("2026-01-05 10:00", "L-2", "L-7")]
    assert told(given) == [
        ("particle-filter", "L-1", "08:00", "09:00"),
        ("particle-filter", "", "09:00", "10:00"),
        ("particle-filter", "L-2", "10:00", None),
    ]


P = "particle-filter"
THIRD = "2026-01-03"


def identified(at: str, lot: str) -> Posted:
    """Say which lot the filter is of."""
    return tell("part-identified", at, position=P, part=part("p3", lot=lot), site="dock")


@pytest.mark.parametrize(
    ("swaps", "expected"),
    [
        ([swap(THIRD, "L-2"), swap(THIRD, "L-3")], [("L-2", "23:59", "00:00"), ("L-3", "00:00", None)]),
        ([swap(THIRD, "L-2"), swap(THIRD, "L-3"), swap(THIRD, "L-4")],
         [("L-3", "23:59", "00:00"), ("L-2", "23:59", "00:00"), ("L-4", "00:00", None)]),
        ([swap(THIRD, "L-2", "L-7"), swap(THIRD, "L-3", "L-8")],
         [("L-2", "23:59", "00:00"), ("L-8", "23:59", "00:00"), ("L-7", "23:59", "00:00"), ("L-3", "00:00", None)]),
        ([swap(THIRD, "L-2"), swap("2026-01-04 00:00", "L-3")], [("L-2", "23:59", "00:00"), ("L-3", "00:00", None)]),
        ([identified(THIRD, "L-5"), swap(THIRD, "L-2")], [("L-5", "23:59", "00:00"), ("L-2", "00:00", None)]),
        ([identified(THIRD, "L-5"), swap(THIRD, "L-2", "L-7")],
         [("L-5", "23:59", "00:00"), ("L-7", "23:59", "00:00"), ("L-2", "00:00", None)]),
        ([identified(THIRD, "L-5"), identified(THIRD, "L-6")], [("L-6", "00:00", None)]),
        ([swap("2026-01-03 10:00", "L-2"), swap("2026-01-03 10:00", "L-3")], [("L-3", "10:00", None)]),
        ([identified("2026-01-03 10:00", "L-5"), swap("2026-01-03 10:00", "L-2")],
         [("L-5", "09:59", "10:00"), ("L-2", "10:00", None)]),
    ],
)  # fmt: skip
def test_what_came_and_went_on_one_day_is_told(swaps: list[Posted], expected: list[Any]) -> None:
    """Beside what was there, in the day's last moment; and so is a name that was told as the part was taken out."""
    before = register(at="2026-01-02 08:00", parts=[{"position": P, "part": part("p3", lot="L-1")}])
    told_at_once = [(P, "L-1", "08:00", expected[-1][1]), *((P, *line) for line in expected)]
    posted = [before, *swaps]
    for parts in ([], [1], [*range(1, len(posted))]):
        assert told(posted, parts) == told_at_once


def test_what_a_unit_came_with_may_have_been_worn_on_the_day_of_its_registration() -> None:
    """Where what was swapped states that day alone, too; not where all of it was at one moment."""
    for given, expected in (
        (register(at=THIRD, parts=[{"position": P, "part": part("p3", lot="L-1")}]), "L-1"),
        (register(at=THIRD), "L-7"),
    ):
        assert told([given, swap(THIRD, "L-2", "L-7" if expected == "L-7" else "L-1")]) == [
            (P, expected, "23:59", "00:00"),
            (P, "L-2", "00:00", None),
        ]
    at_once = register(parts=[{"position": P, "part": part("p3", lot="L-1")}])
    assert told([at_once, swap("2026-01-05 08:00", "L-2")]) == [(P, "L-2", "08:00", None)]


def test_stays_of_one_beginning_are_told_by_position() -> None:
    """The hand first, whatever was said first."""
    piece = Fitted(Part(item="p3", condition="new"), units.at(1), DATE, units.event(1))
    hand = Stay(None, units.at(1), units.at(1), holder=Holder(person="p-1"), site="dock")
    seen = Stays(units.unit(parts={"tube": piece, "battery": piece}), hand, news=False)
    assert [stay.position for stay in seen.told()] == [None, "battery", "tube"]


def test_a_stay_of_which_more_is_said_has_not_ended() -> None:
    """What began when it did is the same, told better; what began later ended it."""
    new, refitted = Part(item="cell", condition="new"), Part(item="cell", condition="refitted")
    first, better, other = (
        units.unit(parts={"battery": Fitted(piece, units.at(since), DATE, units.event(1))})
        for piece, since in ((new, 1), (refitted, 1), (new, 5))
    )
    seen = Stays(first, None, news=False)
    seen.see(better, units.at(3))
    assert list(seen.ended) == []
    seen.see(other, units.at(5))
    assert [(stay.since, stay.until) for stay in seen.ended] == [(units.at(1), units.at(5))]


def test_a_stay_is_the_same_whenever_it_ends() -> None:
    """Told later with its end, it goes on from the one that had none; another part's does not."""
    stay = Stay("battery", units.at(1), units.at(1), part=Part(item="cell", condition="new"))
    assert stay.goes_on(replace(stay, until=units.at(5)))
    assert replace(stay, until=units.at(5)).goes_on(stay)
    assert not stay.goes_on(replace(stay, position="tube"))


def test_stays_of_two_folds_are_told_in_order() -> None:
    """By their beginning, then by position; of one that both tell, as it was told last."""
    names: list[str | None] = ["tube", "battery", None]
    tube, battery, hand = (Stay(name, units.at(1), units.at(1)) for name in names)
    ended, early = replace(tube, until=units.at(5)), Stay("tube", units.at(0), units.at(0), units.at(1))
    assert joined([tube, battery], [hand, ended, early]) == (early, hand, battery, ended)


@pytest.mark.parametrize("at", ["2026-03-02 08:00", "2026-03-02"])
@pytest.mark.parametrize("registered", ["2026-02-20 08:00", None])
@pytest.mark.parametrize("parts", [(), (1,), (2,), (3,), (1, 2, 3)])
def test_who_had_it_for_no_time_never_had_it(at: str, registered: str | None, parts: Sequence[int]) -> None:
    """It is stationed as it is handed out: a stay that was told before that was known is told as gone."""
    hands = [issue(at, who, site="dock") for who in ("p-1", "p-2")]
    stationed = tell("stationed", at, place="cab-1", site="dock")
    given = [register(registered or at), *hands, stationed]
    assert told(given, parts) == told(given)
    assert [stay for stay in told(given, parts) if stay[3] is None] == []
