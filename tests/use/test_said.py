"""What was said of units, whichever way it is looked up, compared with what the oracle makes of the same log."""

from collections.abc import Iterable, Iterator
from dataclasses import replace
from datetime import datetime, timedelta
from random import Random
from uuid import uuid4

import pytest

from service.assessing.lives import Lived
from service.assessing.moment import Question, asked
from service.assessing.recall_acts import Said, acts_of_components, entangled, said_of_units
from service.domain.kinds.recall_opened import Criterion
from service.domain.recall.opening import Opening
from service.ledger import Ledger
from service.remembered import Remembered
from service.store.events_of_subjects import EVENTS_OF_SUBJECTS
from tests.databases.statements import statements
from tests.oracle import said as oracle
from tests.oracle.firm import FIRM, check, register, tell
from tests.oracle.histories import random_history
from tests.oracle.posting import Posted, moment
from tests.oracle.recall_acts import RECALLS
from tests.oracle.story import Story
from tests.oracle.world import World
from tests.use.lived import lived_by_then
from tests.use.posting import caller_of, log_of, post
from tests.use.test_waiting import named

OFFICE = caller_of("office")
MODELS = ("hood", "pack", "mask", "bare")
Told = tuple[datetime | None, list[datetime | None], list[datetime]]


def by_days(random: Random, posted: Iterable[Posted]) -> Iterator[Posted]:
    """Let some messages state their day alone, others come before their moment, and others be orders for a recall."""
    for one in posted:
        message, stamp = dict(one.message), one.message.get("occurred_at")
        if message["kind"] == "quarantined" and random.random() < 0.5:
            message |= {"reason": "recall", "recall": random.choice(RECALLS)}
        if stamp is None or "asset" not in message:
            yield replace(one, message=message)
            continue
        if "until" not in message and random.random() < 0.25:
            message["occurred_on"] = message.pop("occurred_at")[:10]
        elif random.random() < 0.1:
            early = datetime.fromisoformat(stamp) - timedelta(minutes=random.choice([1, 4]))
            one = replace(one, received_at=early)  # noqa: PLW2901 - the same message, received sooner
        yield replace(one, message=message)


async def found(question: Question, at: datetime) -> list[Lived]:
    """Find every unit that there was at a moment."""
    key = (at, True, 0, "", 0, b"", False)
    every = tuple(Criterion(model=model) for model in MODELS)
    opening = Opening("rc-every", key, uuid4(), "m-1", "inspect", every)
    return await lived_by_then(question, [opening])


def shown(said: Said) -> Told:
    """Show what the service tells."""
    return said.last, list(said.sighted), sorted(said.stopped)


def expected(story: Story, at: datetime, moments: list[datetime], recall: str) -> Told:
    """Say what is true."""
    seen = [oracle.first_seen(story, at, since) for since in moments]
    return oracle.last(story, at), seen, oracle.stopped(story, at, recall)


async def compare(question: Question, world: World, random: Random) -> int:
    """Compare at a moment what was said of each unit since some moments, and count those that have a tag alone."""
    at = question.as_at
    stories = {story.registration(story.upto(at)).get("serial"): story for story in world.stories.values()}
    units = await found(question, at)
    moments = [at - timedelta(hours=random.choice([0, 1, 9, 20, 30, 50, 90, 400])) for _ in range(random.randrange(4))]
    recall, read = random.choice(RECALLS), await entangled(question, units)
    for acts in (read, {}):
        told = await said_of_units(question, [(one, moments) for one in units], recall, acts)
        for one, said in zip(units, told, strict=True):
            story = stories[one.life.unit.serial]
            assert shown(said) == expected(story, at, moments, recall), (one.life.unit.tag, at, moments, recall)
    return sum(one.life.unit.unit not in read for one in units)


@pytest.mark.parametrize("seed", range(5))
async def test_what_was_said_is_told_as_the_oracle_tells_it(ledger: Ledger, seed: int) -> None:
    """Stamped, dated, early, late, voided: as at any moment, and as known at another."""
    random = Random(seed)  # noqa: S311 - guards nothing
    await post(ledger, [*by_days(random, random_history(seed + 40, 120).posted)])
    log, alone = await log_of(ledger), 0
    voidings = [one for one in log if one.kind == "voided"]
    for nth in range(40):
        known_at = random.choice(log).recorded_at if nth % 4 == 0 else None
        then = random.choice(voidings if nth % 5 == 0 and voidings else log)
        as_at = then.received_at + timedelta(hours=random.choice([-30, -9, -1, 0, 0, 3, 12, 25]))
        async with asked(ledger, OFFICE, as_at, known_at) as question:
            alone += await compare(question, World(log, [], known_at), random)
    assert alone > 20


async def test_of_a_unit_with_a_component_no_more_is_read_than_may_be_said(ledger: Ledger) -> None:
    """Nothing where it was last spoken of before it matters, and all where that was then, or an order names it."""
    order = tell("quarantined", "2026-03-03 08:00", reason="recall", recall="r-1")
    posted = [*FIRM, register(), register(tag="B-1", model="pack", fitted_to="A-1"), order, check("2026-03-04 08:00")]
    await post(ledger, named(posted, 300))
    then, ordered, past = moment("2026-03-04 08:00"), moment("2026-03-03 08:00"), moment("2026-03-04 08:01")
    async with asked(ledger, OFFICE) as question:
        host, component = await found(question, question.as_at)

        async def told(one: Lived, since: datetime, recall: str | None = None) -> tuple[Told, int]:
            question.known.acts = Remembered(0)
            with statements() as sent:
                [said] = await said_of_units(question, [(one, [since])], recall, {})
            return shown(said), sent.count(EVENTS_OF_SUBJECTS)

        assert await told(host, past) == ((then, [None], []), 0)
        assert await told(host, then) == ((then, [then], []), 1)
        assert await told(host, past, "r-1") == ((then, [None], [ordered]), 2)
        assert await told(host, past, "r-2") == ((then, [None], []), 1)
        assert await told(component, past) == ((then, [None], []), 1)


async def test_what_is_fitted_in_another_by_a_day_that_is_not_over_is_a_component(ledger: Ledger) -> None:
    """Its state says nothing of that before the day is over; whose hands it is in, its own events tell."""
    again = register("2026-03-05", tag="B-1", model="pack", fitted_to="A-1", received="2026-03-05 09:00")
    await post(ledger, named([*FIRM, register(), register(tag="B-1", model="pack"), again], 300))
    async with asked(ledger, OFFICE, moment("2026-03-05 10:00")) as question:
        host, component = every = await found(question, question.as_at)
        assert component.life.unit.fitted_to is None
        [lodging] = (await acts_of_components(question, [component], every))[component.life.unit.unit].fitted
        assert lodging.host == host.life.unit.unit
        assert await acts_of_components(question, [], every) == {}


@pytest.mark.parametrize(
    ("stamp", "received", "as_at"),
    [
        ("2026-01-07", "2026-01-07 00:10", "2026-01-07 03:00"),
        ("2026-01-07 00:14", "2026-01-07 00:10", "2026-01-07 00:12"),
    ],
)
@pytest.mark.parametrize("registered", ["2026-01-05 08:00", "2026-01-07 00:11"])
async def test_what_a_wrong_clock_says_too_early_speaks_of_nothing_yet(
    ledger: Ledger, stamp: str, received: str, as_at: str, registered: str
) -> None:
    """Bad news counts at its receipt, too; yet its day has not begun where the unit is, nor its moment come."""
    bad = tell("failed-in-use", stamp, signs=["dropped"], received=received, sent="2026-01-06 20:00", id=str(uuid4()))
    unit = register(registered, site="mesa", received=received, id=str(uuid4()))
    posted = [*(replace(one, message={"id": str(uuid4()), **one.message}) for one in FIRM), unit, bad]
    assert {one.status for one in await post(ledger, posted)} == {201}
    async with asked(ledger, OFFICE, moment(as_at)) as question:
        [one] = await found(question, question.as_at)
        [said] = await said_of_units(question, [(one, [])], None, {})
    assert said.last == moment(registered)
