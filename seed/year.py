"""The year, day by day: at every site, everything that a day holds."""

from datetime import date, timedelta

import msgspec

from seed import (
    bench,
    cabinets,
    campaign,
    corrections,
    endings,
    losses,
    mornings,
    newcomers,
    pool,
    proofs,
    rounds,
    shelves,
    transfers,
    turnover,
)
from seed.commission import open_books
from seed.fates import give_out
from seed.loans import Parcel, arrive, send
from seed.plant import Plant
from seed.proofs import Renewal, first_proofs
from seed.shelves import Awaited, receive, stock_up
from seed.turnover import Turn, turns
from seed.world import World


class Diary(msgspec.Struct, eq=False):
    """What the year has planned for one site."""

    renewals: list[Renewal]
    newcomers: dict[date, int]
    turns: list[Turn]


class Underway(msgspec.Struct, eq=False):
    """What is on its way between sites: units and deliveries."""

    parcels: list[Parcel] = []
    awaited: list[Awaited] = []


def run(world: World) -> None:
    """Live through the year."""
    diaries = {}
    for ref, plant in world.plants.items():
        renewals = first_proofs(world, plant)
        stock_up(world, plant, world.start)
        open_books(world, plant)
        planned = newcomers.days(world, plant)
        diaries[ref] = Diary(renewals, planned, turns(world.dice, plant, world.start, world.end))
    underway = Underway()
    for number in range(1, (world.end - world.start).days + 1):
        today = world.start + timedelta(days=number)
        give_out(world, today)
        campaign.open_or_close(world, today)
        _arrivals(world, underway, today)
        for ref, plant in world.plants.items():
            _day(world, plant, diaries[ref], underway, today)


def _arrivals(world: World, underway: Underway, today: date) -> None:
    for parcel in [parcel for parcel in underway.parcels if parcel.on <= today]:
        underway.parcels.remove(parcel)
        arrive(world, parcel)
    for awaited in [awaited for awaited in underway.awaited if awaited.on <= today]:
        underway.awaited.remove(awaited)
        receive(world, awaited)


def _day(world: World, plant: Plant, diary: Diary, underway: Underway, today: date) -> None:
    """Let everything happen at a site that a day holds, in the order of the day."""
    proofs.go(world, plant, diary.renewals, today)
    newcomers.come(world, plant, today, diary.newcomers.get(today, 0))
    mornings.go(world, plant, today)
    pool.go(world, plant, today)
    cabinets.go(world, plant, today)
    rounds.go(world, plant, today)
    bench.work(world, plant, today)
    campaign.go(world, plant, today)
    underway.awaited += shelves.go(world, plant, today)
    transfers.go(world, plant, today)
    losses.go(world, plant, today)
    corrections.go(world, plant, today)
    turnover.go(world, plant, diary.turns, today)
    endings.go(world, plant, today)
    parcel = send(world, plant, today)
    if parcel is not None:
        underway.parcels.append(parcel)
