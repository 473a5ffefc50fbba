from datetime import timedelta
from uuid import UUID

import pytest
from msgspec.structs import replace

from service.domain.facts import echo, signal
from service.domain.fold import Folded, Story, fold, meant, signalled
from service.domain.unit import WaitingUse
from service.domain.wearing import Use
from tests.domain.folding import Folding
from tests.domain.units import NOON, at, event, fact, told, unit, world
from tests.oracle.firm import FIRM, check, fails, issue, register, tell, wear
from tests.oracle.posting import Posted, log


def uses(*posted: Posted) -> list[tuple[float, float | None]]:
    """Give the uses of a unit that count, and when each lacked cover, in hours after noon."""
    hour = timedelta(hours=1)
    story = told([register(), *posted], base=FIRM)
    counted = (use for use in story.uses if use.counted)
    return [((use.at - NOON) / hour, None if use.lapse is None else (use.lapse - NOON) / hour) for use in counted]


def test_uses_are_told_again_from_the_oldest_that_is_open() -> None:
    """Or from where the fold stopped."""
    open_uses = (Use(at(1), "dock", None, UUID(int=1)), Use(at(3), "dock", None, UUID(int=2)))
    assert Folded(unit(), at(5), at(5), uses=open_uses).uses_from == at(1)
    assert Folded(unit(), at(5), at(5)).uses_from == at(5)


@pytest.mark.parametrize(
    ("until", "after", "lapse"),
    [
        (11, [], None),
        (12, [], None),
        (14, [], 12),
        (14, [tell("cleaned", at(20).isoformat(), scope="part", method="wiped")], 12),
        (14, [tell("returned", at(13).isoformat())], 12),
        (14, [tell("returned", at(11).isoformat())], None),
    ],
)
def test_a_wearing_lacks_cover_from_where_its_check_ends(
    until: float, after: list[Posted], lapse: float | None
) -> None:
    """Twelve hours after the check (R17), told whether or not anything happens since."""
    worn = wear(at(1).isoformat(), until=at(until).isoformat())
    assert uses(check(at(0).isoformat()), issue(at(0.5).isoformat()), worn, *after) == [(1, lapse)]


def test_what_is_dated_before_the_registration_contradicts_and_counts() -> None:
    """It is as if the unit had been there: a wearing goes on until its end, and the news is told as a conflict."""
    early = [wear("2026-01-05 06:00", until="2026-01-05T07:00:00+00:00"), wear("2026-01-05 06:30")]
    folding = Folding(log([*FIRM, register(), *early]), [])
    [prepared] = folding.prepared.units
    assert sorted(codes for codes in folding.conflicts().values() if codes) == [
        ["before-registration"],
        ["before-registration"],
    ]
    assert prepared.start.unit.worn == 3_600_000_000


def test_told_on_from_the_end_nothing_is_new() -> None:
    """The interval that runs on is the same as it was told."""
    folding = Folding(log([*FIRM, register(), issue(at(0).isoformat())]), [])
    [story] = folding.stories().values()
    again: Story = fold(story.folded, [], folding.world)
    assert again.intervals[-1] == story.intervals[-1]
    assert story.folded.ahead == next(one for one in story.intervals if one.since == story.folded.at)


def test_every_working_day_in_issue_is_a_use() -> None:
    """From Monday noon to Wednesday, each at its first moment; those after the cover of Monday's check lack it."""
    posted = [check(at(-0.5).isoformat()), issue(at(0).isoformat()), tell("returned", at(49).isoformat())]
    story = told([register(), *posted])
    assert [((use.at - NOON).total_seconds() / 3600, use.lapse) for use in story.uses if use.counted] == [
        (0, None),
        (12, at(12)),
        (36, at(36)),
    ]


def test_only_a_wearing_that_counts_is_a_use() -> None:
    """A unit worn while it is retired, or that is a part of another, is not."""
    assert uses(
        wear(at(1).isoformat()), tell("retired", at(2).isoformat(), reason="lost"), wear(at(3).isoformat())
    ) == [(1, 1)]
    assert uses(
        wear(at(1).isoformat(), until=at(9).isoformat()), check(at(2).isoformat()), wear(at(4).isoformat())
    ) == [
        (1, 1),
        (4, None),
    ]


def test_registered_again_a_retired_unit_contradicts_nothing_but_its_serial() -> None:
    """What else is said of a retired unit is a conflict by its kind; the registration brings it back (R13)."""
    gone = tell("retired", at(1).isoformat(), reason="lost")
    again = register(at(3).isoformat(), "A-2", serial="S-A-1")
    folding = Folding(log([*FIRM, register(), gone, check(at(2).isoformat()), again]), [])
    assert list(folding.conflicts().values())[-4:] == [[], [], ["checked-while-retired"], ["serial-known"]]


def test_a_missing_unit_is_found_only_by_what_needs_it_at_hand() -> None:
    """Setting its use does not; cleaning it does, and puts it aside. An echo needs no unit at hand."""
    there, gone = world(), unit(missing=True)
    said = fact(tell("use-set", at(1).isoformat(), use="emergency", authorised_by="m-1"), there, 5)
    done = fact(tell("cleaned", at(1).isoformat(), scope="unit", method="wiped"), there, 6)
    assert meant(gone, said, there) == replace(gone, use="emergency")
    found = meant(gone, done, there)
    assert (found.missing, [cause.reason for cause in found.held]) == (False, ["found"])
    late = fact(tell("failed-check", at(1).isoformat(), points=fails("battery")), there, 7)
    assert not meant(gone, late, there).missing
    assert meant(gone, echo(late), there).missing


def test_a_use_that_was_received_bites_and_those_set_before_it_wait_no_more() -> None:
    """Those set after it still do; a receipt that nothing waits for changes nothing."""
    first, second = WaitingUse(event(1), "occasional"), WaitingUse(event(2), "occasional")
    told = unit(uses_waiting=(first, second))
    assert signalled(told, signal(at(0), "receipt", event(1))) == unit(use="occasional", uses_waiting=(second,))
    assert signalled(told, signal(at(0), "receipt", event(2))) == unit(use="occasional")
    assert signalled(told, signal(at(0), "receipt", event(3))) == told
