"""Where an event contradicts the history."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime

from tests.oracle.labels import compare
from tests.oracle.parts import changes, fitted
from tests.oracle.people import self_granted
from tests.oracle.proof import CHECKS
from tests.oracle.recalls import OF_PARTS, Opening, history, in_time, may_be, meant, openings
from tests.oracle.record import Message, Record, Report
from tests.oracle.story import Story
from tests.oracle.told import SWAPS
from tests.oracle.view import ready
from tests.oracle.world import World, before

COMPETENCE = {"examined": "examine", "repaired": "repair", "released": "release"}
BARRED = frozenset({"quarantined", "missing", "at-service", "retired"})
DESK = frozenset({"released", "retired", "retagged", "use-set"})
LEADS = frozenset({"site-lead", "manager", "administrator"})


def conflicts(records: list[Record], reports: list[Report]) -> dict[str, list[str]]:
    """List the conflict codes of every event, sorted; an event that was voided has none."""
    world = World(records, reports, None)
    found: dict[str, set[str]] = {record.id: set() for record in records}
    for story in world.stories.values():
        for index, fact in enumerate(story.facts):
            if not fact.echo:
                found[fact.record.id] |= told(story, index)
    for grant in world.people.granted:
        if self_granted(grant):
            found[grant.record.id].add("self-granted-competence")
    for voiding in world.own_voidings:
        found[voiding].add("own-adverse-event")
    return {name: sorted(codes) for name, codes in found.items()}


def told(story: Story, index: int) -> set[str]:
    """List the conflicts of one fact with what came before it."""
    fact = story.facts[index]
    codes = barred(story, index)
    if before(fact, story.registered_at()):
        codes.add("before-registration")
    if fact.kind == "registered" and index != story.registrations[0]:
        codes.add("serial-known")
    if story.dead(index):
        return codes
    if fact.kind == "use-set" and fact.get("use") == "occasional" and fact.record.role not in LEADS:
        codes.add("use-not-authorised")
    if fact.kind in COMPETENCE and not story.competent(index, COMPETENCE[fact.kind]):
        codes.add("unknown-competence")
    return codes | released(story, index) | moved(story, index) | answered(story, index)


def barred(story: Story, index: int) -> set[str]:
    """List the conflicts of an event with the phase it meets."""
    fact = story.facts[index]
    phase = story.phase(index)
    codes = set()
    if fact.kind in {"worn", "issued"} and phase in BARRED:
        codes.add(f"{fact.kind}-while-{phase}")
    elif story.dead(index):
        codes.add("checked-while-retired" if fact.kind in CHECKS else "while-retired")
    if fact.kind == "issued" and not ready(story, index, fact.at, before=True)["ready"]:
        codes.add("not-ready-to-issue")
    return codes


def released(story: Story, index: int) -> set[str]:
    """Say whether a release lacks the ground for something held."""
    fact = story.facts[index]
    lacking = fact.kind == "released" and story.held(index) and not story.grounded(index)
    return {"released-without-ground"} if lacking else set()


def answered(story: Story, index: int) -> set[str]:
    """Say whether an act on a recall answers nothing: at no moment since an opening did that speak of the unit."""
    act = story.facts[index]
    held = [story.facts[mark.nth] for mark in story.held(index) if mark.reason == "recall"]
    if act.kind != "recall-actioned" or any(one.get("recall") == act.get("recall") for one in held):
        return set()
    for opening in (*openings(story.world), *openings(story.world, rehearsals=True)):
        if opening.recall == act.get("recall") and opening.at < act.at:
            since = sum(one.at <= opening.at for one in story.facts)
            went = [n for n in range(since, index) if changes(story, n) or n in story.registrations[1:]]
            if any(spoken_of(story, n, opening) for n in (*went, index)):
                return set()
    return {"not-under-recall"}


def spoken_of(story: Story, n: int, opening: Opening) -> bool:
    """Say whether an opening speaks of what there is as a fact comes; what is stated at first was there before it."""
    spots = {position for position, *_ in meant(story, n, story.facts[n].at, opening)}
    if n == story.registrations[0]:
        return bool(spots & {"", *fitted(story, n)})
    refs, criteria = story.models(n), opening.fact.get("criteria")
    unsaid = [part for part, came in known_by(story, n) if in_time(came, opening)]
    return bool(spots) or any(
        may_be(one, refs, part) for part in unsaid for one in criteria if any(map(one.get, OF_PARTS))
    )


def known_by(story: Story, n: int) -> Iterator[tuple[Message, datetime]]:
    """Walk the parts that are known to be there by no more than what is said of them later, and since when they are.

    What the first registration states was there before it; what a swap says that it takes out was in until then.
    """
    fact, sits, start = story.facts[n], fitted(story, n), story.registered_at()
    if n < story.registrations[0]:
        stated = changes(story, story.registrations[0])
        yield from ((part, start) for position, part in stated.items() if part and position not in sits)
    out, there = fact.get("out") if fact.kind in SWAPS else None, sits.get(fact.get("position"))
    if out is None or (there is not None and there.part is None):
        return
    before = {} if there is None or there.part is None else there.part
    said = {name: out.get(name) or None for name in ("item", "lot", "serial")}
    if (said["item"] or before.get("item")) is None:
        return
    came = None if there is None else history(story, n, there.position)[0]
    differs = any(
        value and before.get(name) and (value != before[name] if name == "item" else compare(value, before[name]) != 0)
        for name, value in said.items()
    )
    new = {name: value for name, value in said.items() if value}
    kept = {"item": before.get("item"), **new} if differs else {**new, **{k: v for k, v in before.items() if v}}
    yield kept, start if came is None else came


def moved(story: Story, index: int) -> set[str]:
    """List the conflicts of an event with where the unit was."""
    fact = story.facts[index]
    place, away = story.placed(index), story.away(index)
    codes = set()
    by_hand = story.seeing(index) and fact.kind != "received"
    if by_hand and fact.get("site") not in {None, story.site(index)}:
        codes.add("not-received")
    if fact.kind == "returned" and place.holder is None and place.where != "stationed" and away is None:
        codes.add("returned-without-holder")
    if fact.kind == "received" and away is None:
        codes.add("received-without-move")
    reach = fact.record.sites
    if fact.kind in DESK and reach is not None and story.site(index) not in reach:
        codes.add("unit-of-another-site")
    return codes
