"""Delivery: first what defines the firm, then round after round what the devices of all sites have to send."""

import asyncio
from collections.abc import Callable, Coroutine, Iterable, Mapping

from seed.dice import Dice
from seed.keys import Keys
from seed.simulation.devices import Device
from seed.simulation.journal import Acknowledged, Journal
from seed.simulation.rounds import Round
from seed.simulation.site_app import RECORDED, SiteApp
from seed.simulation.story import Story
from seed.simulation.wire import Wire

Progress = Callable[[int, int], None]
TOGETHER = 500
SIDE_BY_SIDE = 16
"""How many devices post at a time, but where a shift starts at all sites at once."""
SETTLING = 3
"""How often what waits is sent again when all that it could wait for has come."""
OFFICE = Device("office")


class NotDefined(Exception):
    """The service did not take what defines the firm; nothing was simulated."""

    def __init__(self, status: int, detail: str) -> None:
        super().__init__(f"what defines the simulated firm was refused with {status}: {detail}")


async def define(story: Story, wire: Wire, keys: Keys, journal: Journal) -> None:
    """Post what defines the firm. Raises NotDefined."""
    left = story.before
    while left:
        part = left[:TOGETHER]
        results = await wire.post(OFFICE, keys.administrator, part, "array")
        for message, result in zip(part, results, strict=True):
            if result is not None and result.status not in RECORDED:
                raise NotDefined(result.status, "" if result.problem is None else result.problem.detail)
            if result is not None:
                told = Acknowledged(result.seq, result.recorded_at)
                journal.acknowledge(str(message["id"]), told, repeated=result.outcome == "repeated")
        left = left[len(part) :] if all(results) else left


async def deliver(story: Story, wire: Wire, keys: Keys, journal: Journal, progress: Progress) -> None:
    """Have every device send what it took down, until all is acknowledged."""
    apps = {
        device.name: SiteApp(
            device,
            wire,
            _keys_at(site, keys),
            Dice.named(story.scale.seed, f"app/{device.name}"),
            story.scale.faults,
            journal,
        )
        for site, device in _at_sites(story)
    }
    for one in story.rounds.every:
        await _round(one, apps, at_once=one.shift_start and "shift-start" in story.scale.faults)
        progress(len(journal.acknowledged), len(story.before) + len(story.taken))
    for _ in range(SETTLING):
        await _side_by_side((app.deliver(()) for app in apps.values() if app.aside), len(apps))
    for app in apps.values():
        for left in app.aside:
            journal.differ(f"event {left.id} ({left.message['kind']}): waits though all has come")


def _at_sites(story: Story) -> Iterable[tuple[str, Device]]:
    for place in story.played.places:
        for name in (place.kiosk, place.handheld):
            yield place.site.ref, story.devices[name]


def _keys_at(site: str, keys: Keys) -> dict[str, str]:
    """Give the keys that people sign on with at a device: the app's own, and the lead's."""
    return {"site-app": keys.site_app[site], "site-lead": keys.site_lead}


async def _round(one: Round, apps: Mapping[str, SiteApp], *, at_once: bool) -> None:
    """Have every device with something to send deliver it; at the start of a shift all of them at once, singly."""
    wanted = [(app, one.due.get(name, ())) for name, app in apps.items() if name in one.due or app.aside]
    sending = (app.deliver(fresh, singly=at_once) for app, fresh in wanted)
    await _side_by_side(sending, len(wanted) if at_once else SIDE_BY_SIDE)


async def _side_by_side(work: Iterable[Coroutine[None, None, None]], most: int) -> None:
    """Do work, so much of it at a time at most."""
    every = iter(work)

    async def some() -> None:
        for one in every:
            await one

    async with asyncio.TaskGroup() as group:
        for _ in range(most):
            group.create_task(some())
