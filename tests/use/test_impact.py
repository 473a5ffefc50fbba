"""The impact of a thousand random recalls, compared with what the oracle makes of the same log by definition."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from random import Random
from typing import Any
from uuid import uuid4

import msgspec

from seed.batches import Subjects
from seed.delivery import Delivery
from seed.scenario import scenario
from service.assessing.moment import Question, asked
from service.assessing.recall_reached import Impact, Reached
from service.assessing.recalls import impact, known
from service.domain.kinds.recall_opened import Criterion
from service.domain.label import normal
from service.domain.recall.opening import Back, Opening
from service.ledger import Ledger
from tests.oracle import impact as oracle
from tests.oracle import said, stock
from tests.oracle.ahead import sittings
from tests.oracle.criteria import Words, random_criteria
from tests.oracle.fact import fact
from tests.oracle.histories import random_history
from tests.oracle.noise import stocked
from tests.oracle.posting import Posted
from tests.oracle.recalls import Opening as Opened
from tests.oracle.record import Message, Record
from tests.oracle.world import World
from tests.use.posting import caller_of, log_of, post, post_together
from tests.use.test_recalls import differing

OFFICE = caller_of("office")
END = datetime(2026, 11, 25, 12, tzinfo=UTC)
LEFT_OUT = frozenset(
    {
        "checked", "cleaned", "examined", "trained", "fit-tested", "medically-cleared", "assigned", "reorder-approved",
        "order-placed", "order-cancelled", "exception-acknowledged", "failed-check", "authorisation-ended",
    }
)  # fmt: skip
"""What moves no part, hand or stock."""


@dataclass(frozen=True)
class Asked:
    """A recall as it is asked about: its name, criteria, when it was opened, and when that was taken back."""

    recall: str
    criteria: list[Message]
    at: datetime
    ends: datetime | None = None

    def opening(self) -> Opening:
        """Give it as the service takes it."""
        key = (self.at, True, 0, "", 0, b"", False)
        criteria = tuple(msgspec.convert(one, Criterion) for one in self.criteria)
        backs = () if self.ends is None else (Back(uuid4(), "m-9", self.ends),)
        return Opening(self.recall, key, uuid4(), "m-1", "stop-use", criteria, backs=backs)

    def opened(self, world: World) -> Opened:
        """Give it as the oracle takes it."""
        message: Message = {
            "id": str(uuid4()),
            "kind": "recall-opened",
            "occurred_at": self.at.isoformat(),
            "by": "m-1",
        }
        message |= {"recall": self.recall, "criteria": self.criteria}
        return Opened(fact(Record(message, 0, self.at, self.at), world.book), (), self.ends)


def units_of(found: Impact) -> dict[tuple[str, str, str], Any]:
    """Show what the service found of units, by tag, maker and serial number."""
    units = [(one.lived.life.unit, one) for one in found.units]
    return {(unit.tag, unit.maker, normal(unit.serial)): shown(one) for unit, one in units}


def shown(one: Reached) -> Any:
    """Show a unit's sittings, hands and wearers."""
    told = one.touched
    sat = {(s.position or "", s.since, s.until, s.certain, s.state, s.item, s.lot) for s in told.sittings}
    had = ((str(holder(h.holder)), h.site, h.since, h.until, h.seconds, h.certain) for h in told.hands)
    return (
        one.site,
        sat,
        sorted(had, key=str),
        {(w.person, w.site): (w.times, w.first, w.last, w.seconds, set(w.known_by), w.certain) for w in told.wearers},
    )


def holder(value: Any) -> list[tuple[str, str]]:
    """Show a holder as it was posted."""
    return sorted(msgspec.to_builtins(value).items())


def expected(seen: list[oracle.Seen], openings: list[Opened], at: datetime) -> dict[Any, Any]:
    """Say what is true of units."""
    found = {}
    for unit in seen:
        sat = sittings(unit, openings, at)
        if sat:
            told = {one.shown for one in sat}, oracle.held(unit, sat, at), oracle.worn(unit, sat, at)
            found[unit.tag, *unit.story.unit] = (unit.story.site(unit.n), *told)
    return found


def spoken_of(found: Impact) -> dict[tuple[str, str], Any]:
    """Show when the service says that units were last spoken of, and first had in hand in each spell under a recall."""
    return {
        (one.unit.tag, one.unit.serial): (one.last_spoken_at, [done.seen for done in one.spells]) for one in found.units
    }


def said_of(seen: list[oracle.Seen], found: Impact, at: datetime) -> dict[tuple[str, str], Any]:
    """Say what is true of that; the spells are taken as they are told."""
    stories = {(unit.tag, unit.story.registration(unit.n).get("serial")): unit.story for unit in seen}
    told: dict[tuple[str, str], Any] = {}
    for one in found.units:
        story = stories[one.unit.tag, one.unit.serial]
        first = [(done.spell, said.first_seen(story, at, done.spell.since)) for done in one.spells]
        seen_by = [None if moment is None or not spell.holds(moment) else moment for spell, moment in first]
        told[one.unit.tag, one.unit.serial] = (said.last(story, at), seen_by)
    return told


def stock_of(found: Impact) -> list[Any]:
    """Show what the service found in stock: what is there, and what there may be by days that are not over."""
    return sorted(((o.site, o.item, o.lot, o.expires, o.unit, o.quantity, o.certain) for o in found.stock), key=str)


def meant(there: list[stock.Line], arriving: list[stock.Line], criteria: list[Message]) -> list[Any]:
    """Say what is true of it; nothing is certain before the day is over."""
    certain = [(*line, *left) for line, left in stock.stock(there, criteria).items()]
    return sorted(
        [*certain, *((*line, left, False) for line, (left, _) in stock.stock(arriving, criteria).items())], key=str
    )


async def compare(ledger: Ledger, log: list[Record], random: Random, moments: list[tuple[Any, Any, int]]) -> int:
    """Ask so many random recalls at each moment, and count the units that they found."""
    words, found = Words(log), 0
    names = sorted({one.message["recall"] for one in log if one.message.get("recall")} | {"rc-none"})
    for as_at, known_at, times in moments:
        world = World(log, [], known_at)
        seen, left, more = oracle.seen(world, as_at), stock.lines(world, as_at), stock.arriving(world, as_at)
        async with asked(ledger, OFFICE, as_at, known_at) as question:
            for _ in range(times):
                ask = made_up(random, words, names, as_at)
                told = await impact(question, [ask.opening()], None)
                assert units_of(told) == expected(seen, [ask.opened(world)], as_at), (ask, known_at)
                assert spoken_of(told) == said_of(seen, told, as_at), (ask, known_at)
                taken_back = ask.ends is not None and ask.ends <= as_at
                assert stock_of(told) == ([] if taken_back else meant(left, more, ask.criteria)), (ask, known_at)
                found += len(told.units)
            await compare_known(question, world, seen, as_at)
    return found


async def compare_stock(ledger: Ledger, log: list[Record], random: Random, at: datetime) -> int:
    """Ask what there is in stock of twenty random recalls, and count what days tell of that are not over."""
    words, world, arriving = Words(log), World(log, [], None), 0
    left, more = stock.lines(world, at), stock.arriving(world, at)
    async with asked(ledger, OFFICE, at) as question:
        for _ in range(20):
            ask = Asked("rc-none", random_criteria(random, words), at)
            told = await impact(question, [ask.opening()], None)
            assert stock_of(told) == meant(left, more, ask.criteria), ask
            arriving += len(told.arriving)
    return arriving


async def compare_known(question: Question, world: World, seen: list[oracle.Seen], at: datetime) -> None:
    """Compare the recalls that the log itself opened, but for rehearsals.

    The counter of its device is held against no opening here, while the oracle repeats one that it contradicts: such
    repetitions are left out.
    """
    for name, campaign in known(question).items():
        places = {opening.at for opening in campaign.openings}
        openings = [one for one in world.openings if one.recall == name and one.at in places]
        if len(openings) == len(campaign.openings):
            told = await impact(question, campaign.openings, None)
            assert units_of(told) == expected(seen, openings, at), name
            assert spoken_of(told) == said_of(seen, told, at), name


def days_of_stock(log: list[Record]) -> list[datetime]:
    """Give the noons of days that are stated alone of stock that came."""
    days = {one.message.get("occurred_on") for one in log if one.kind == "stock-received"} - {None}
    return sorted(datetime.fromisoformat(f"{day}T12:00:00+00:00") for day in days)


def made_up(random: Random, words: Words, names: list[str], at: datetime) -> Asked:
    """Make up a recall that was opened by a moment, and sometimes taken back by then."""
    opened = at - timedelta(days=random.choice([0, 0, 1, 10, 40]))
    ends = opened + (at - opened) * random.random() if random.random() < 0.1 else None
    return Asked(random.choice(names), random_criteria(random, words), opened, ends)


def slice_of_the_demo(random: Random, share: float) -> list[Delivery]:
    """Take all sites and stores, a share of the units with all that hangs on them, and what moves parts and hands."""
    logged = [one for one in scenario(END).deliveries if one.expects in {"recorded", "waiting"}]
    subjects = Subjects(logged)
    wanted = [one for one in logged if one.message["kind"] not in LEFT_OUT]
    tags = sorted({subjects.of(one) for one in wanted if one.message["kind"] == "registered"})
    chosen = set(random.sample(tags, int(len(tags) * share)))
    mine = [one for one in wanted if subjects.of(one) in chosen or not of_a_unit(one)]
    ids = {one.message["id"] for one in mine}
    return [one for one in mine if one.message["kind"] != "voided" or one.message["event"] in ids]


def of_a_unit(one: Delivery) -> bool:
    """Say whether a message is about a unit."""
    return "asset" in one.message or one.message["kind"] == "voided"


def batches(deliveries: list[Delivery], size: int = 250) -> Iterator[list[Posted]]:
    """Cut what is posted into imports; each is received when its last message arrived."""
    for start in range(0, len(deliveries), size):
        some = deliveries[start : start + size]
        yield [Posted(dict(one.message), some[-1].at, some[-1].at, imported=True) for one in some]


async def test_six_hundred_recalls_of_the_demo(ledger: Ledger, owner_url: str) -> None:
    """Of a slice of the demo: now, in the past, and as it was known in the past; a rebuild changes nothing."""
    random = Random(7)  # noqa: S311 - guards nothing
    for batch in batches(slice_of_the_demo(random, 0.07)):
        await post_together(ledger, batch)
    log = await log_of(ledger)
    half = log[len(log) // 2].recorded_at
    moments = [(END, None, 540), (END - timedelta(days=90), None, 40), (END - timedelta(days=200), half, 20)]
    assert await compare(ledger, log, random, moments) > 1000
    assert await differing(owner_url) == []


async def test_four_hundred_recalls_of_random_histories(ledger: Ledger, owner_url: str) -> None:
    """Of histories with late, doubled and voided events, retagged units, components and parts that are identified."""
    random = Random(11)  # noqa: S311 - guards nothing
    history = random_history(23, 260)
    last = max(one.received_at for one in history.posted)
    moments_of_stock = [random.choice(history.posted).received_at for _ in range(400)]
    await post(ledger, [*history.posted, *stocked(random, moments_of_stock, last)])
    log = await log_of(ledger)
    half = log[len(log) // 2].recorded_at
    moments = [(last, None, 200), (last - timedelta(days=9), None, 120), (last - timedelta(days=5), half, 80)]
    assert await compare(ledger, log, random, moments) > 400
    days = random.sample(days_of_stock(log), 8)
    assert sum([await compare_stock(ledger, log, random, day) for day in days]) > 0
    assert await differing(owner_url) == []
