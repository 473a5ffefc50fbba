from datetime import UTC, datetime
from random import Random

from service.domain.counting import Gap, Numbered, runs
from service.store.device_activity import Activity, device_activity
from service.store.device_gaps import device_gaps
from service.store.device_numbers import device_numbers
from service.store.device_posts import device_posts
from service.store.devices_after import devices_after
from service.store.scope import writing
from tests.store.making import Desk, an_entry, appended, minutes

ALL = 2**62
EVER = datetime(2199, 1, 1, tzinfo=UTC)


async def counted(desk: Desk, device: str, *numbers: int) -> None:
    """Append events of a device with these numbers, a minute after each other."""
    await appended(
        desk, [an_entry(device=device, device_seq=number, instant=minutes(at)) for at, number in enumerate(numbers)]
    )


async def activities(desk: Desk, *devices: str) -> list[Activity]:
    """Read what devices have done."""
    async with writing(desk.pool, desk.organisation) as conn:
        return await device_activity(conn, desk.organisation, devices, until=ALL, sites=None)


async def test_gaps_read_off_the_index_are_those_of_the_domain(desk: Desk) -> None:
    """Of devices whose numbers came once, the lowest first, the database tells what counting every number tells."""
    chance = Random(2026)  # noqa: S311 - the same numbers each time
    devices = {f"kiosk-{nth:02}": sorted(chance.sample(range(60), chance.randint(1, 50))) for nth in range(12)}
    for device, numbers in devices.items():
        await counted(desk, device, numbers[0], *chance.sample(numbers[1:], len(numbers) - 1))

    async with writing(desk.pool, desk.organisation) as conn:
        gaps = await device_gaps(conn, desk.organisation, devices, until=ALL, limit=100)
        numbered = await device_numbers(conn, desk.organisation, devices, until=ALL)
    for one in await activities(desk, *devices):
        (run,) = runs(numbered[one.device])
        assert one.is_one_run
        assert (run.first, run.last, run.lacking) == (one.lowest, one.highest, one.lacking)
        assert run.gaps == list(reversed(gaps.get(one.device, [])))


async def test_what_may_be_repeated_or_reset_is_no_one_run(desk: Desk) -> None:
    """A number twice, or one below the first, is left to the counting of every number."""
    await counted(desk, "plain", 4, 6, 5, 9)
    await counted(desk, "twice", 1, 2, 2, 3)
    await counted(desk, "below", 90, 91, 1)

    found = {one.device: (one.is_one_run, one.lacking) for one in await activities(desk, "plain", "twice", "below")}
    assert found == {"plain": (True, 2), "twice": (False, 0), "below": (False, 88)}


async def test_only_what_was_recorded_by_then_is_told(desk: Desk) -> None:
    """Up to a seq a device is told as if nothing had followed; one that had not spoken yet is not told."""
    await counted(desk, "kiosk-1", 1, 2, 5)
    await counted(desk, "kiosk-2", 1)

    async with writing(desk.pool, desk.organisation) as conn:
        names = await devices_after(conn, desk.organisation, after="", until=2, known_at=EVER, sites=None, limit=9)
        (one,) = await device_activity(conn, desk.organisation, ["kiosk-1", "kiosk-2"], until=2, sites=None)
        gaps = await device_gaps(conn, desk.organisation, ["kiosk-1"], until=2, limit=9)
        numbers = await device_numbers(conn, desk.organisation, ["kiosk-1"], until=2)
        posts = await device_posts(
            conn, desk.organisation, ["kiosk-1", "kiosk-2"], until=2, sites=None, newest=9, samples=8
        )
    assert names == ["kiosk-1"]
    assert (one.events, one.highest, one.last_event_at) == (2, 2, minutes(1))
    assert gaps == {}
    assert sorted(numbers.pop("kiosk-1")) == [Numbered(1, minutes(0), 1), Numbered(2, minutes(1), 2)]
    assert numbers == {}
    assert list(posts) == ["kiosk-1"]


async def test_the_newest_gaps_are_listed(desk: Desk) -> None:
    """Of more gaps than wanted the highest are given."""
    await counted(desk, "kiosk-1", 1, 3, 7, 9)

    async with writing(desk.pool, desk.organisation) as conn:
        gaps = await device_gaps(conn, desk.organisation, ["kiosk-1"], until=ALL, limit=2)
    assert gaps == {"kiosk-1": [Gap(8, 8), Gap(4, 6)]}


async def test_devices_of_another_firm_are_none(desk: Desk) -> None:
    """The devices of an organisation are its own."""
    await counted(desk, "kiosk-1", 1)

    async with writing(desk.pool, desk.foreign) as conn:
        assert await devices_after(conn, desk.foreign, after="", until=ALL, known_at=EVER, sites=None, limit=9) == []
        assert await device_activity(conn, desk.foreign, ["kiosk-1"], until=ALL, sites=None) == []
