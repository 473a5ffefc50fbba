"""What was answered of recalls is answered again as it was known, whatever was recorded since.

TEST_ASKED_AGAIN is how many histories (4 where it is not set), TEST_ASKED_AGAIN_FROM the first seed.
"""

import os
from collections.abc import Awaitable, Callable
from datetime import UTC, datetime, timedelta
from random import Random
from typing import Any, Final, NamedTuple

import msgspec
import pytest

from service import recalls
from service.domain.errors import NotFound
from service.domain.kinds.recall_opened import Criterion
from service.ledger import Ledger
from service.page import Page
from service.recalls import Supposed, Wanted
from tests.oracle.acts import LOTS, MODELS, PARTS, SITES
from tests.oracle.criteria import Words, random_criteria
from tests.oracle.firm import defined, site
from tests.oracle.histories import START, random_history
from tests.oracle.noise import stocked
from tests.oracle.posting import Posted, say
from tests.use.posting import caller_of, post

pytestmark = pytest.mark.no_cover
"""Hundreds of questions go the same ways again and again: counting each line of them is most of their time."""

FIRST: Final = int(os.environ.get("TEST_ASKED_AGAIN_FROM", "0"))
SEEDS: Final = range(FIRST, FIRST + int(os.environ.get("TEST_ASKED_AGAIN", "4")))
PAUSES: Final = 8
"""How often questions are asked while a history is posted."""

Ask = Callable[[Ledger, Wanted], Awaitable[Page]]


class Answer(NamedTuple):
    """What was asked, as at and as known at when, and what was answered."""

    ask: Ask
    what: str
    wanted: Wanted
    said: bytes


@pytest.mark.parametrize("seed", SEEDS)
async def test_what_was_answered_is_answered_again(seed: int, ledger: Ledger) -> None:
    """Of previews, and of what opened recalls have done: units, people, stock and the sums of all of them."""
    random = Random(seed)  # noqa: S311 - guards nothing
    history = random_history(seed, 30 + 5 * (seed % 12))
    told = [*history.posted, *afterthoughts(random, history.posted)]
    words, answers, posted = Words(history.records), list[Answer](), 0
    for pause in sorted(random.randrange(40, len(told)) for _ in range(PAUSES)):
        await post(ledger, told[posted:pause])
        posted = pause
        answers += [one for ask, what in questions(random, words) if (one := await answer(ledger, ask, what, random))]
    await post(ledger, told[posted:])
    assert len(answers) >= 5 * PAUSES
    assert any(b'"asset"' in one.said for one in answers)
    for one in answers:
        assert encoded(await one.ask(ledger, one.wanted)) == one.said, (one.what, one.wanted)


def questions(random: Random, words: Words) -> list[tuple[Ask, str]]:
    """Give what is asked at a pause, each with its name."""
    made = [msgspec.convert(random_criteria(random, words), tuple[Criterion, ...]) for _ in range(5)]
    supposed = [(previewed(one, random.choice(["office", "office", "lead"])), f"preview of {one}") for one in made]
    opened = [(recall, sort) for recall in ("r-1", "r-2") for sort in ("impact", "people", "stock")]
    return [*supposed, *((known(recall, sort), f"{sort} of {recall}") for recall, sort in opened)]


def previewed(criteria: tuple[Criterion, ...], key: str) -> Ask:
    """Ask what a recall would speak of."""
    return lambda ledger, wanted: recalls.preview(ledger, caller_of(key), Supposed(criteria=criteria), wanted)


def known(recall: str, sort: str) -> Ask:
    """Ask what a recall has done."""
    ask = {"impact": recalls.impact, "people": recalls.people, "stock": recalls.stock}[sort]
    return lambda ledger, wanted: ask(ledger, caller_of("office"), recall, wanted)


async def answer(ledger: Ledger, ask: Ask, what: str, random: Random) -> Answer | None:
    """Ask as at now or another moment, as known now; None of a recall that nobody has opened."""
    then = START + timedelta(days=random.randrange(-30, 70), minutes=random.randrange(1440))
    try:
        page = await ask(ledger, Wanted(as_at=random.choice([None, then])))
    except NotFound:
        return None
    moments = msgspec.convert({name: page.about[name] for name in ("as_at", "known_at")}, Wanted)
    return Answer(ask, what, moments, encoded(page))


def encoded(page: Page) -> bytes:
    """Give all that a page says."""
    return msgspec.json.encode([page.items, page.about])


def afterthoughts(random: Random, posted: list[Posted]) -> list[Posted]:
    """Tell of stock, and of the past what was told otherwise, or of nobody: each after some minutes."""
    now = posted[-1].received_at + timedelta(hours=1)
    said = stocked(random, [START + timedelta(days=random.randrange(30)) for _ in range(8)], now)
    for number in range(random.randrange(6, 22)):
        now += timedelta(minutes=7)
        said.append(random.choice(AFTERTHOUGHTS)(random, now, number, [*posted, *said]))
    return said


def again(random: Random, now: datetime, number: int, kind: str, by: str = "p-2", **fields: Any) -> Posted:
    """Say something that was weeks ago, or will be, to the minute or by its day alone."""
    at = START + timedelta(days=random.randrange(-40, 60), minutes=random.choice([0, 0, 300, 700, 1200]))
    stamp = random.choice([at.isoformat(), at.date().isoformat()])
    return say(kind, stamp, by, received=now.isoformat(), id=named(number), **fields)


def named(number: int) -> str:
    """Give the id of an afterthought."""
    return f"01910000-0000-7000-8000-{number:012x}"


def corrected(random: Random) -> dict[str, Any]:
    """Correct reference data from its beginning, or from somewhat later."""
    since = datetime(random.choice([2024, 2025]), 6, 1, tzinfo=UTC)
    return {"effective_from": since.isoformat(), "correction": True, "reason": "typed wrong"}


def tag_of(random: Random, posted: list[Posted]) -> str:
    """Name a unit."""
    return str(random.choice(registered(posted))["asset"])


def registered(posted: list[Posted]) -> list[dict[str, Any]]:
    """Give the registrations."""
    return [one.message for one in posted if one.message["kind"] == "registered"]


def taken_back(random: Random, now: datetime, number: int, posted: list[Posted]) -> Posted:
    """Take anything back."""
    event, by = random.choice(posted).message["id"], random.choice(["m-1", "adm"])
    return say("voided", now.isoformat(), by, event=event, reason="typed wrong", id=named(number))


def of_a_model(random: Random, now: datetime, number: int, _posted: list[Posted]) -> Posted:
    """Correct who makes a model, and what it lists."""
    model = random.choice(sorted(MODELS))
    listed = [
        found | {"items": [*found["items"], random.choice(["tube", "abek"])]} for found in MODELS[model]["positions"]
    ]
    fields = {"maker": random.choice([None, "Invented Air", "Invented Masks", "Others"]), "positions": listed}
    return defined("model-defined", now.isoformat(), id=named(number), **MODELS[model] | fields, **corrected(random))


def of_a_zone(random: Random, now: datetime, number: int, _posted: list[Posted]) -> Posted:
    """Correct the time zone of a site."""
    zone = random.choice(["Pacific/Kiritimati", "Pacific/Pago_Pago", "Europe/London"])
    return site(random.choice(SITES), "uk", zone, received=now.isoformat(), id=named(number), **corrected(random))


def seen(random: Random, now: datetime, number: int, posted: list[Posted]) -> Posted:
    """See a unit somewhere."""
    where: dict[str, Any] = {"asset": tag_of(random, posted), "site": random.choice(SITES)}
    kind = random.choice(["found", "received", "returned", "issued"])
    where |= {"holder": {"person": "p-7"}} if kind == "issued" else {}
    return again(random, now, number, kind, **where)


def registered_again(random: Random, now: datetime, number: int, posted: list[Posted]) -> Posted:
    """Register a serial number once more, as whatever model."""
    old = random.choice(registered(posted))
    fields = {
        "asset": random.choice([old["asset"], f"Z-{number}"]),
        "model": random.choice([old["model"], *sorted(MODELS)]),
        "serial": old["serial"],
        "site": random.choice(SITES),
        "made_on": random.choice([None, "2025-02-28", "2025-06-30"]),
    }
    return again(random, now, number, "registered", "adm", **fields)


def retagged(random: Random, now: datetime, number: int, posted: list[Posted]) -> Posted:
    """Give a unit another tag."""
    tags = [tag_of(random, posted), f"Y-{number}", "Y-1"]
    return again(random, now, number, "retagged", "adm", asset=tag_of(random, posted), new_tag=random.choice(tags))


def retired(random: Random, now: datetime, number: int, posted: list[Posted]) -> Posted:
    """Retire a unit."""
    reason = random.choice(["lost", "scrapped", "worn-out"])
    return again(random, now, number, "retired", "m-1", asset=tag_of(random, posted), reason=reason)


def changed(random: Random, now: datetime, number: int, posted: list[Posted]) -> Posted:
    """Change a part, with a site or without."""
    position = random.choice(sorted(PARTS))
    part = {"item": random.choice(PARTS[position]), "condition": "new", "lot": random.choice(LOTS)}
    fields: dict[str, Any] = {"position": position, "reason": "damage", "in_": random.choice([None, part, part])}
    where = random.choice([None, *SITES])
    return again(random, now, number, "part-replaced", asset=tag_of(random, posted), site=where, **fields)


AFTERTHOUGHTS: Final = (
    *(taken_back, of_a_model, of_a_zone, seen, registered_again, retagged, retired),
    *(changed, changed),
)
