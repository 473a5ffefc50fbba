from collections import Counter, defaultdict
from datetime import UTC, datetime, timedelta
from itertools import pairwise
from typing import Any

import pytest

from seed.adverse import adverse
from seed.simulation.devices import Taken
from seed.simulation.faults import FAULTS, UnknownFault, chosen
from seed.simulation.scale import NotToScale, Scale, demand_seconds
from seed.simulation.story import Story, story
from seed.simulation.suspicion import counts_again
from seed.simulation.truth import MEANS

NOW = datetime(2026, 3, 5, 15, 30, tzinfo=UTC)
SCALE = Scale(sites=8, assets=200, days=3)


@pytest.fixture(scope="module")
def told() -> Story:
    """Make up one story for all tests that only look at it."""
    return story(SCALE, NOW)


def by_device(every: tuple[Taken, ...]) -> dict[str, list[Taken]]:
    """Give what each device took down."""
    found = defaultdict(list)
    for one in every:
        found[one.device.name].append(one)
    return found


@pytest.mark.parametrize(
    ("asked", "refused"),
    [
        ({"sites": 501, "assets": 600, "days": 1}, "sites: from 1 to 500 can be simulated, not 501"),
        ({"sites": 1, "assets": 20_001, "days": 1}, "assets: from 1 to 20,000 can be simulated, not 20,001"),
        ({"sites": 1, "assets": 1, "days": 0}, "days: from 1 to 5 can be simulated, not 0"),
        ({"sites": 9, "assets": 8, "days": 1}, "assets: each of the 9 sites needs one at least"),
        ({"sites": 9, "assets": 20_000, "days": 4}, "assets times days: 60,000 at most, not 80,000"),
    ],
    ids=["sites", "assets", "days", "fewer units than sites", "together"],
)
def test_a_simulation_is_bounded(asked: dict[str, Any], refused: str) -> None:
    """What is too much, or nothing, is refused with the bound."""
    with pytest.raises(NotToScale) as failure:
        Scale(**asked)
    assert str(failure.value) == refused


@pytest.mark.parametrize("seconds", [0, 3601])
def test_time_is_bounded(seconds: int) -> None:
    """A simulation may take an hour at most."""
    with pytest.raises(NotToScale, match="seconds: from 1 to 3,600, not"):
        demand_seconds(seconds)


def test_faults_are_chosen_by_name() -> None:
    """Faults are listed by name; all and none say what they mean; an unknown one is named with those there are."""
    assert chosen("offline,cut") == {"offline", "cut"}
    assert chosen("all") == set(FAULTS)
    assert chosen("none") == set()
    with pytest.raises(
        UnknownFault, match=r"'fire' is none of offline, duplicate, reorder, drift, ahead, reset, lost, cut"
    ):
        chosen("cut,fire")


def test_the_same_seed_tells_the_same(told: Story) -> None:
    """Everything follows from the scale and the moment, down to the last id; another seed tells something else."""
    again, other = story(SCALE, NOW), story(Scale(sites=8, assets=200, days=3, seed=21), NOW)
    assert [one.message for one in again.taken] == [one.message for one in told.taken]
    assert again.before == told.before
    assert again.rounds.kept == told.rounds.kept
    assert [one.message for one in other.taken] != [one.message for one in told.taken]


def test_a_later_run_shares_nothing(told: Story) -> None:
    """The same seed a second later has other ids, sites, units and devices: one service can take both."""
    later = story(SCALE, NOW + timedelta(seconds=1))
    assert not {one.id for one in later.taken} & {one.id for one in told.taken}
    assert not {one["id"] for one in later.before} & {one["id"] for one in told.before}
    assert not set(later.sites) & set(told.sites)
    assert not set(later.truth.tags) & set(told.truth.tags)
    assert not later.devices.keys() & told.devices.keys()


def test_nothing_is_told_of_the_future(told: Story) -> None:
    """No device, however far its clock is ahead, stamps anything later than twenty minutes before the simulation."""
    assert max(one.stamp for one in told.taken) < NOW - timedelta(minutes=20)
    assert max(one.at for one in told.taken) > NOW - timedelta(hours=4)
    assert min(one.at for one in told.taken) > NOW - timedelta(days=5)


def test_no_two_things_happen_at_one_moment(told: Story) -> None:
    """The order of the stamps decides everything, so no two messages share one."""
    assert len({one.stamp for one in told.taken}) == len(told.taken)


def test_everything_happens(told: Story) -> None:
    """Every kind that the truth knows is told, every phase is reached, and bad news counts again for every reason."""
    assert {str(one.message["kind"]) for one in told.taken} == set(MEANS)
    phases = sum(told.truth.by_site().values(), Counter())
    assert set(phases) == {"in-store", "issued", "quarantined", "in-transit"}
    again = counts_again(told.taken)
    devices = [one.device for one in told.taken if one.id in again]
    assert {"suspect", "reset", "silent"} == {
        "suspect" if device.is_suspect else "reset" if device.resets else device.says.replace("nothing", "silent")
        for device in devices
    }
    assert any(adverse(one.message) and one.id not in again for one in told.taken)


def test_devices_count_their_messages(told: Story) -> None:
    """A device numbers what it takes down from 1 on, one by one; one of three begins again at 1, once, not early.

    One of three loses a message in the middle, whose number nothing has.
    """
    resets, lost = Counter[int](), Counter[int]()
    for every in by_device(told.taken).values():
        numbers = [one.number for one in every]
        steps = [later - former for former, later in pairwise(numbers)]
        began_again = [later for former, later in pairwise(numbers) if later < former]
        assert numbers[:2] == [1, 2]
        assert began_again in ([], [1])
        assert len(began_again) == every[0].device.resets
        resets[len(began_again)] += 1
        assert steps.count(2) == every[0].device.loses
        assert steps.count(1) == len(steps) - len(began_again) - steps.count(2)
        lost[steps.count(2)] += 1
    assert (resets, lost) == ({0: 11, 1: 5}, {0: 11, 1: 5})


def test_devices_stamp_by_their_clocks(told: Story) -> None:
    """What a device says is the true moment shifted by what its clock is off; all sorts of clocks are about."""
    assert all(one.stamp - one.at == timedelta(seconds=one.device.ahead) for one in told.taken)
    assert Counter(device.says for device in told.devices.values()) == {"sent_at": 12, "nothing": 2, "Date": 2}
    assert sum(device.is_suspect for device in told.devices.values()) == 5
    assert any(0 < abs(device.ahead) <= 120 for device in told.devices.values())


def test_everything_is_delivered_once(told: Story) -> None:
    """Each message is due in exactly one round, never before it was taken down, of its own device."""
    due = [one for turn in told.rounds.every for device in turn.due.values() for one in device]
    assert Counter(one.id for one in due) == Counter(one.id for one in told.taken)
    assert all(
        one.device.name == name for turn in told.rounds.every for name, every in turn.due.items() for one in every
    )
    assert sum(turn.shift_start for turn in told.rounds.every) == 4
    assert len(told.rounds.every) == 15


def test_devices_without_a_line_keep_what_they_have() -> None:
    """With the fault some messages come days late, without it none is kept over the end of its round."""
    with_fault, without = (
        story(Scale(sites=8, assets=200, days=3, faults=faults), NOW)
        for faults in (frozenset({"offline"}), frozenset())
    )
    assert max(with_fault.rounds.kept) > 24 * 3600
    assert max(without.rounds.kept) <= 10 * 3600


def test_without_faults_every_device_is_exact() -> None:
    """No fault, no clock off, no counter that begins again, and no bad news that counts again."""
    plain = story(Scale(sites=8, assets=200, days=1, faults=frozenset()), NOW)
    assert {(device.ahead, device.says, device.resets) for device in plain.devices.values()} == {(0, "sent_at", False)}
    assert counts_again(plain.taken) == frozenset()
