"""The checks of a simulation notice what they are there for: each is told something that is not so.

A small firm is simulated once against the service. Its truth holds; then one thing after the other is planted in what
the checks are told to expect.
"""

from collections import Counter
from collections.abc import Iterator
from datetime import UTC, datetime
from types import ModuleType
from typing import Any

import pytest
from msgspec.structs import replace
from typing_extensions import override

from seed.keys import Keys
from seed.simulation.checks import devices, feed, past, rejected, summary, units
from seed.simulation.checks.asking import Asking, Found, Stated
from seed.simulation.delivery import define, deliver
from seed.simulation.devices import Device, Taken
from seed.simulation.journal import Acknowledged, Journal
from seed.simulation.places import models
from seed.simulation.scale import Scale
from seed.simulation.story import Story, story
from seed.simulation.truth import Stands, Truth
from seed.simulation.wire import Wire
from service.serving import run as run_async
from tests.commands.test_serve import serving
from tests.databases.clone import Template, cloned
from tests.http.conftest import made_firms

ELSEWHERE = Stands("stationed", "elsewhere", "nobody", held=True, recheck=True)


class Lie(Truth):
    """The truth of a story, but for one unit, which it says to be elsewhere."""

    def __init__(self, story: Story, tag: str) -> None:
        super().__init__(story.taken, models(story.played.mark))
        self.tag = tag

    @override
    def now(self, tag: str) -> Stands:
        return ELSEWHERE if tag == self.tag else super().now(tag)

    @override
    def at(self, tag: str, moment: datetime) -> Stands | None:
        return ELSEWHERE if tag == self.tag else super().at(tag, moment)


class Simulated:
    """A service that a story was told to, and what is expected of it."""

    def __init__(self, address: str, key: str, told: Stated) -> None:
        self.address, self.key, self.told = address, key, told

    def check(self, one: ModuleType, told: Stated | None = None) -> Found:
        """Make one check, by what is expected or by what is told instead."""

        async def work() -> Found:
            wire = Wire(self.address, Journal())
            try:
                found: Found = await one.check(Asking(wire, self.key), told or self.told)
            finally:
                await wire.close()
            return found

        return run_async(work())


async def told_to(address: str, key: str, made_up: Story) -> Stated:
    """Tell a service a story, and give what is to be expected of it."""
    journal = Journal()
    wire = Wire(address, journal)
    keys = Keys(administrator=key, manager=key, site_lead=key, site_app=dict.fromkeys(made_up.sites, key))
    try:
        await define(made_up, wire, keys, journal)
        await deliver(made_up, wire, keys, journal, lambda _done, _total: None)
    finally:
        await wire.close()
    return Stated(story=made_up, journal=journal, before=0, alone=True)


@pytest.fixture(scope="module")
def simulated(template: Template) -> Iterator[Simulated]:
    """Simulate two sites and eight units for a day, with all faults."""
    with cloned(template) as database:
        key = run_async(administrators_key(database.owner_url))
        made_up = story(Scale(sites=2, assets=8, days=1), datetime.now(UTC))
        with serving(DATABASE_URL=database.app_url) as (_, address):
            yield Simulated(address, key, run_async(told_to(address, key, made_up)))


async def administrators_key(owner_url: str) -> str:
    """Make an organisation, and an administrator's key of it."""
    async with made_firms(owner_url) as keys:
        return (await keys.make("administrator"))["authorization"].removeprefix("Bearer ")


def otherwise(told: Stated, **fields: object) -> Stated:
    """Expect something else of the story."""
    return replace(told, story=replace(told.story, **fields))


def noted(told: Stated, acknowledged: dict[str, Acknowledged]) -> Stated:
    """Expect what is expected, by other acknowledgements."""
    journal = Journal()
    journal.acknowledged = acknowledged
    return replace(told, journal=journal)


def test_the_truth_holds(simulated: Simulated) -> None:
    """Nothing differs where nothing is planted, and every check looked at something."""
    found = {one: simulated.check(one) for one in (feed, units, past, summary, devices, rejected)}
    assert simulated.told.journal.differences == []
    assert {one.__name__: check.differences for one, check in found.items() if check.differences} == {}
    assert found[feed].count == len(simulated.told.story.taken) + len(simulated.told.story.before)
    assert (found[units].count, found[summary].count, found[devices].count) == (8, 2, 4)
    assert found[past].count > 2


def test_an_event_that_nobody_sent_is_noticed(simulated: Simulated) -> None:
    """An event in the feed that the devices know nothing of is named, unless others may post there, too."""
    told, strange = simulated.told, simulated.told.story.taken[-1]
    others = {ref: one for ref, one in told.journal.acknowledged.items() if ref != strange.id}
    fewer = noted(otherwise(told, taken=told.story.taken[:-1]), others)
    seq = told.journal.acknowledged[strange.id].seq
    assert simulated.check(feed, fewer).differences == (f"feed: seq {seq} is event {strange.id}, which nobody sent",)
    assert simulated.check(feed, replace(fewer, alone=False)).differences == ()


def test_an_event_that_is_not_there_is_noticed(simulated: Simulated) -> None:
    """One that was acknowledged and does not stand in the feed is named, and so is one never acknowledged."""
    told, lost = simulated.told, simulated.told.story.taken[0]
    message = lost.message | {"id": "0198c1f2-7a10-7c3e-9b55-3f1d2ab40c01"}
    more = otherwise(told, taken=(*told.story.taken, replace(lost, message=message)))
    assert simulated.check(feed, more).differences == (f"event {message['id']}: was never acknowledged",)
    promised = noted(more, told.journal.acknowledged | {str(message["id"]): Acknowledged(999, "2026-03-02T06:00:00Z")})
    assert simulated.check(feed, promised).differences == (
        f"feed: event {message['id']} was acknowledged and is not there",
    )


def test_an_event_that_stands_elsewhere_or_otherwise_is_noticed(simulated: Simulated) -> None:
    """An event that stands at another place than its sender was told, or says something else, is named."""
    told, one = simulated.told, simulated.told.story.taken[3]
    place = told.journal.acknowledged[one.id]
    moved = told.journal.acknowledged | {one.id: replace(place, seq=place.seq + 1)}
    [difference] = simulated.check(feed, noted(told, moved)).differences
    assert difference.startswith(f"feed: event {one.id} is seq {place.seq} since {place.recorded_at}, told was")
    changed = replace(one, message=one.message | {"device_seq": 77, "occurred_at": "2026-03-02T06:00:00+00:00"})
    taken = tuple(changed if other is one else other for other in told.story.taken)
    assert simulated.check(feed, otherwise(told, taken=taken)).differences == (
        f"feed: event {one.id} is at {_as_told(one)}, sent was 2026-03-02T06:00:00+00:00",
        f"feed: event {one.id} has device_seq {one.number}, sent was 77",
    )


def _as_told(one: Taken) -> str:
    """Write the moment of an event as the service tells it: with the offset that its sender gave, and UTC as Z."""
    return str(one.message["occurred_at"]).replace("+00:00", "Z")


def sound(told: Stated) -> str:
    """Name a unit that nothing is held against."""
    every = {tag: told.story.truth.now(tag) for tag in told.story.truth.tags}
    return next(tag for tag, stands in every.items() if not stands.held and not stands.recheck)


def test_a_unit_that_stands_otherwise_is_noticed(simulated: Simulated) -> None:
    """Each thing that is told otherwise of a unit is named with the unit, now and at a past day."""
    told, tag = simulated.told, sound(simulated.told)
    lie, true = otherwise(told, truth=Lie(told.story, tag)), told.story.truth.now(tag)
    phase, site, holder, withdrawal, recheck, *_ = simulated.check(units, lie).differences
    assert phase == f"{tag}: phase is 'stationed', told is {true.phase!r}"
    assert site == f"{tag}: site is 'elsewhere', told is {true.site!r}"
    assert holder == f"{tag}: holder is 'nobody', told is {true.holder!r}"
    assert withdrawal.startswith(f"{tag}: withdrawal is held against it, told are ")
    assert recheck.startswith(f"{tag}: recheck is held against it, told are ")
    of_the_past = simulated.check(past, lie).differences
    assert any(difference.startswith(f"{tag} as at 20") for difference in of_the_past)
    assert all(" as at 20" in difference for difference in of_the_past)


@pytest.mark.parametrize(
    ("told", "differences"),
    [
        ({}, []),
        ({"do_not_use": True}, ["FX-1: do_not_use is False, told is True"]),
        (
            {"do_not_use": True, "reasons": ["unresolved-report"]},
            [
                "FX-1: unresolved-report is not held against it, told are ['unresolved-report']",
                "FX-1: do_not_use is False, told is True",
            ],
        ),
        (
            {"phase": "issued", "holder": {"person": "p-1"}},
            ["FX-1: phase is 'in-store', told is 'issued'", "FX-1: holder is None, told is 'p-1'"],
        ),
    ],
    ids=["nothing", "forbidden", "a report that is not resolved", "in a hand"],
)
def test_what_is_told_of_a_unit_is_compared(told: dict[str, object], differences: list[str]) -> None:
    """Of a unit in store everything that is told is compared."""
    answer: dict[str, Any] = {"phase": "in-store", "site": "yard", "holder": None, "reasons": [], "do_not_use": False}
    stands = Stands("in-store", "yard", None, held=False, recheck=False)
    assert list(units.compared("FX-1", answer | told, stands)) == differences


def test_a_unit_that_is_not_there_is_noticed(simulated: Simulated) -> None:
    """A unit that the service knows nothing of is named, and the check goes on to the others."""
    told = simulated.told
    one = next(one for one in told.story.taken if one.message["kind"] == "registered")
    lost = replace(one, message=one.message | {"asset": "FX-9"})
    truth = Truth((*told.story.taken, lost), models(told.story.played.mark))
    found = simulated.check(units, otherwise(told, truth=truth))
    assert (found.count, found.differences) == (9, ("FX-9: is not there",))


def test_an_overdue_duty_is_no_part_of_the_truth() -> None:
    """A unit in hand may be forbidden for a duty the truth knows nothing of; one that is held against is never free."""
    answer: dict[str, Any] = {
        "phase": "issued",
        "site": "yard",
        "holder": {"person": "p-1"},
        "reasons": ["used-without-check"],
    }
    stands = Stands("issued", "yard", "p-1", held=False, recheck=False)
    assert list(units.compared("FX-1", answer | {"do_not_use": True}, stands)) == []
    owed = replace(stands, recheck=True)
    assert list(units.compared("FX-1", answer | {"do_not_use": False, "reasons": ["recheck"]}, owed)) == [
        "FX-1: do_not_use is True, told is False"
    ]


def test_a_site_that_is_counted_otherwise_is_noticed(simulated: Simulated) -> None:
    """A site whose units are counted otherwise, all or by phase, is named with both counts."""
    told, tag = simulated.told, sound(simulated.told)
    true = told.story.truth.now(tag)
    phases = told.story.truth.by_site()[true.site]
    total, by_phase = simulated.check(summary, otherwise(told, truth=Lie(told.story, tag))).differences
    assert total == f"{true.site}: has {phases.total() - 1} units, told are {phases.total()}"
    assert by_phase.startswith(f"{true.site}: has {dict(phases - Counter([true.phase]))}, told is {{")


def test_a_device_that_is_told_otherwise_is_noticed(simulated: Simulated) -> None:
    """A device with another clock, other numbers or another count than it is told to have is named."""
    told = simulated.told
    sound = (one for one in told.story.taken if not (one.device.is_suspect or one.device.resets))
    one = next(one for one in sound if one.device.says == "sent_at")
    far = replace(one.device, ahead=-7200)
    taken = tuple(replace(other, device=far) if other.device is one.device else other for other in told.story.taken)
    clock, doubt = simulated.check(devices, otherwise(told, taken=taken)).differences
    assert clock.startswith(f"{far.name}: its clock is 7200 s behind, told is ")
    assert doubt == f"{far.name}: its clock is in doubt, told is otherwise"
    every = [other for other in told.story.taken if other.device is one.device]
    fewer = tuple(other for other in told.story.taken if other is not every[-1])
    assert simulated.check(devices, otherwise(told, taken=fewer)).differences == (
        f"{far.name}: last is {every[-2].number}, told is {every[-1].number}",
        f"{far.name}: posted {len(every) - 1} events, told are {len(every)}",
    )


LINE: dict[str, Any] = {
    "events": 3,
    "refused": 0,
    "counter": {"last": 1, "missing_count": 0, "missing": [], "refused_count": 0, "repeats": 0, "resets": 1},
    "clock": {"offset_seconds": 600.2, "suspect": True},
}
"""What is told of a device ten minutes behind, which began to count anew with its third message."""


@pytest.mark.parametrize(
    ("line", "differences"),
    [
        (LINE, []),
        (None, ["is not told of"]),
        (LINE | {"events": 4}, ["posted 3 events, told are 4"]),
        (LINE | {"counter": None}, [
            "missing_count is 0, told is None", "missing is [], told is None", "refused_count is 0, told is None",
            "repeats is 0, told is None", "resets is 1, told is None", "last is 1, told is None",
        ]),
        (LINE | {"counter": LINE["counter"] | {"resets": 0}}, ["resets is 1, told is 0"]),
        (LINE | {"refused": 2}, ["0 of its messages were refused, told are 2"]),
        (LINE | {"clock": {"offset_seconds": 600.6, "suspect": True}}, [
            "its clock is 600 s behind, told is 600.6 s (the way took 0.500 s at most)"
        ]),
        (LINE | {"clock": {"offset_seconds": None, "suspect": True}}, [
            "its clock is 600 s behind, told is None s (the way took 0.500 s at most)"
        ]),
        (LINE | {"clock": {"offset_seconds": 600, "suspect": False}}, ["its clock is in doubt, told is otherwise"]),
    ],
    ids=["so", "unknown", "events", "counter", "resets", "refused", "clock", "no clock", "doubt"],
)  # fmt: skip
def test_what_is_told_of_a_device_is_compared(line: dict[str, Any] | None, differences: list[str]) -> None:
    """Whatever is told otherwise of a device is named; an offset may be too high by what the way took."""
    device = Device("kiosk", ahead=-600)
    every = [Taken({"device_seq": number}, device, datetime.now(UTC), "site-app") for number in (1, 2, 1)]
    assert list(devices.compared(line, every, {"kiosk": 0.5})) == differences


def test_what_never_came_and_what_was_refused_is_compared() -> None:
    """A gap that is told to be none is named, run by run, and so are refusals that are not told."""
    device = Device("kiosk", ahead=-600)
    every = [Taken({"device_seq": number}, device, datetime.now(UTC), "site-app") for number in (1, 3, 1)]
    assert list(devices.compared(LINE, every, {"kiosk": 0.5}, 4)) == [
        "missing_count is 1, told is 0",
        "missing is [{'run': 1, 'first': 2, 'last': 2}], told is []",
        "4 of its messages were refused, told are 0",
    ]


def test_what_was_refused_and_is_not_listed_is_noticed(simulated: Simulated) -> None:
    """One that should have been refused is named, and so is one that is open and should not have been."""
    told = simulated.told
    refused, *_ = told.journal.refused
    journal = Journal()
    journal.refused = {ref: name for ref, name in told.journal.refused.items() if ref != refused} | {"e-1": "kiosk"}
    still_open, missing = simulated.check(rejected, replace(told, journal=journal)).differences
    assert f": event {refused} (" in still_open
    assert still_open.endswith(" is still open")
    assert missing == "event e-1: was refused and is not listed"


def test_a_device_that_states_no_clock_has_none() -> None:
    """Of a device without a stated clock no offset may be told, and none is missed."""
    device = Device("kiosk", says="nothing")
    every = [Taken({"device_seq": 1}, device, datetime.now(UTC), "site-app")]
    counter = LINE["counter"] | {"resets": 0}
    line = {"events": 1, "refused": 0, "counter": counter}
    silent, telling = ({"clock": {"offset_seconds": seconds, "suspect": False}} for seconds in (None, 3.0))
    assert list(devices.compared(line | silent, every, {"kiosk": 0.5})) == []
    assert list(devices.compared(line | telling, every, {"kiosk": 0.5})) == [
        "states no clock, told is that it is 3.0 s behind"
    ]


def test_being_told_otherwise_is_noticed() -> None:
    """A message that is acknowledged at one place first and at another later is a difference."""
    journal = Journal()
    journal.acknowledge("e-1", Acknowledged(1, "2026-03-02T06:00:00Z"), repeated=False)
    journal.acknowledge("e-1", Acknowledged(1, "2026-03-02T06:00:00Z"), repeated=True)
    assert (journal.differences, journal.counts["repeated"]) == ([], 1)
    journal.acknowledge("e-1", Acknowledged(2, "2026-03-02T06:00:00Z"), repeated=True)
    [difference] = journal.differences
    assert difference == (
        "event e-1: told as Acknowledged(seq=1, recorded_at='2026-03-02T06:00:00Z') first, "
        "then as Acknowledged(seq=2, recorded_at='2026-03-02T06:00:00Z')"
    )


def test_differences_are_counted_beyond_those_named() -> None:
    """A service that gets everything wrong fills no memory: a thousand differences are named, all are counted."""
    journal = Journal()
    for number in range(1_200):
        journal.differ(str(number))
    assert (len(journal.differences), journal.counts["differences"]) == (1_000, 1_200)
