"""Cover by pre-use checks, the uses made, and the breaches of those outside cover."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, datetime, timedelta
from typing import NamedTuple

from tests.oracle import clock
from tests.oracle.reference import days_between
from tests.oracle.story import SPECIAL, Story
from tests.oracle.told import SWAPS

BATTERY_ROLES = ("airflow", "alarm", "battery")
COUNTED_USES = frozenset({"routine", "occasional"})


class Cover(NamedTuple):
    """Until when a check covers whom."""

    until: datetime
    wearer: str


class Use(NamedTuple):
    """A use: its instant, how many facts came before it, site, wearer, whether it counts, and each time cover fails.

    `serves` says that it is a use of the parts: counted, or a wearing of a unit whose working days are not.
    """

    at: datetime
    n: int
    site: str
    who: str | None
    counted: bool
    lapses: tuple[datetime, ...]
    serves: bool = True

    @property
    def breach(self) -> datetime | None:
        """Give the instant at which it first lacked cover."""
        return min(self.lapses, default=None)


def cover(story: Story, n: int, at: datetime, who: str | None) -> Cover | None:
    """Find the newest cover that stands after `n` facts at an instant, for a wearer or (None) for anyone."""
    for index in story.back(n):
        wearer = story.facts[index].get("wearer")
        if story.complete_check(index) and wearer is not None and who in {None, wearer}:
            until = granted_until(story, index)
            if at < until and unbroken(story, index, n, wearer):
                return Cover(until, wearer)
    return None


def granted_until(story: Story, index: int) -> datetime:
    """Give the end of the cover a check grants, by the policy of its moment."""
    fact = story.facts[index]
    return fact.at + clock.elapsed(story.setting("pre-use-check", "cover", index + 1, fact.versions_at))


def unbroken(story: Story, check: int, n: int, wearer: str) -> bool:
    """Say whether nothing ended the cover of a check, and a battery swap was made good."""
    after = list(story.back(n, check + 1))
    if any(ends_cover(story, index, wearer) for index in after):
        return False
    swaps = [index for index in after if story.battery_swap(index)]
    return not swaps or any(restores(story, index, wearer) for index in after if index > max(swaps))


def restores(story: Story, index: int, wearer: str) -> bool:
    """Say whether a check shows airflow, alarm and battery for a wearer after a battery swap."""
    fact = story.facts[index]
    if fact.kind != "checked" or fact.echo or fact.get("wearer") != wearer or story.failing(index):
        return False
    model = story.model_of(index)
    roles = {point.get("role") for point in (model or {}).get("points", [])} & set(BATTERY_ROLES)
    return bool(story.verdict(index).shown(model, frozenset(roles)))


def ends_cover(story: Story, index: int, wearer: str) -> bool:
    """Say whether a fact ends the cover of a wearer."""
    fact = story.facts[index]
    if fact.kind in SWAPS:
        return not story.battery_swap(index)
    if fact.kind in {"cleaned", "repaired", "quarantined"} or story.failing(index) or story.leaving(index):
        return True
    if story.wearer(index) is not None:
        return story.wearer(index) != wearer
    return fact.kind == "issued" and fact.get("holder").get("person") not in {None, wearer}


def uses(story: Story, until: datetime) -> list[Use]:
    """List every use up to an instant, counted or not; those up to an earlier one are the same, cut short."""
    seen = story.memory.get(("uses",))
    if seen is None or seen[0] < until:
        found = sorted([*worn_uses(story, until), *day_uses(story, until)], key=lambda use: use.at)
        story.memory["uses",] = seen = (until, found)
    return [use for use in seen[1] if use.at <= until]


def counts_worn(story: Story, n: int, at: datetime) -> bool:
    """Say whether the policy counts what is posted as worn instead of working days."""
    return bool(story.setting("pre-use-check", "count", n, at) == "worn")


def worn_uses(story: Story, until: datetime) -> Iterator[Use]:
    """Make a use of everything posted as worn."""
    for index, fact in enumerate(story.facts):
        if fact.kind == "worn" and fact.at <= until and not story.dead(index):
            who, n = fact.get("wearer"), index + 1
            worn = counts_worn(story, n, fact.versions_at)
            serves = worn or story.phase(n) != "issued" or story.use(n, fact.at) not in COUNTED_USES
            counted = worn and not unknown(story, n, fact.at)
            yield Use(fact.at, n, story.site(n), who, counted, worn_lapses(story, index, who), serves)


def worn_lapses(story: Story, index: int, who: str) -> tuple[datetime, ...]:
    """List the instants at which a wearing came to lack cover."""
    fact = story.facts[index]
    ends = worn_until(story, index)
    marks = set(story.instants)
    marks |= {granted_until(story, check) for check in story.back(index + 1) if story.complete_check(check)}
    marks |= {granted_until(story, check) for check in range(index, len(story.facts)) if story.complete_check(check)}
    held = cover(story, index, fact.at, who) is not None
    lapses = [] if held else [fact.at]
    for at in sorted(at for at in marks if fact.at <= at < ends):
        before, held = held, cover(story, story.upto(at), at, who) is not None
        if before and not held:
            lapses.append(at)
    return tuple(lapses)


def worn_until(story: Story, index: int) -> datetime:
    """Give the end of a wearing as said, but no later than the unit left the hand; its start if nothing was said."""
    fact = story.facts[index]
    said = fact.get("until")
    if said is None:
        return fact.at
    ends = clock.instant(said) if "T" in said else clock.day_end(date.fromisoformat(said), fact.zone)
    left = [
        story.facts[later].at
        for later in range(index + 1, len(story.facts))
        if not story.dead(later) and story.leaving(later)
    ]
    return min([ends, *left])


def day_uses(story: Story, until: datetime) -> Iterator[Use]:
    """Make one use of each working day and shift at the unit's first moment in issue within it."""
    book = story.world.book
    first = clock.local_day(story.registered_at(), "UTC") - timedelta(days=2)
    last = clock.local_day(until, "UTC") + timedelta(days=2)
    turns = sorted({*story.instants, *book.changes(), *(fact.record.received_at for fact in story.facts)})
    for site in sorted({story.site(n) for n in range(1, len(story.facts) + 1)}):
        for day in days_between(first, last):
            windows = list(book.windows(site, day))
            for shift in dict.fromkeys(name for name, _, _ in windows):
                spans = [(start, end) for name, start, end in windows if name == shift]
                begins, ends = min(start for start, _ in spans), max(end for _, end in spans)
                moments = {start for start, _ in spans} | {at for at in turns if begins < at < ends}
                found = first_in_issue(story, site, day, shift, {at for at in moments if at <= until})
                if found is not None:
                    yield found


def first_in_issue(story: Story, site: str, day: date, shift: str | None, moments: set[datetime]) -> Use | None:
    """Find the first moment at which the unit was in issue at a site within a shift."""
    for at in sorted(moments):
        n = story.upto(at)
        if n and story.phase(n) == "issued" and story.site(n) == site and countable(story, n, at):
            if not story.world.book.within(site, day, shift, at):
                continue
            who = (story.placed(n).holder or {}).get("person")
            lacking = cover(story, n, at, who) is None
            return Use(at, n, site, who, counted=True, lapses=(at,) if lacking else ())
    return None


def unknown(story: Story, n: int, at: datetime) -> bool:
    """Say whether it is no unit of the rates yet, or only a part of one."""
    return story.component(n) or at < story.registered_at()


def countable(story: Story, n: int, at: datetime) -> bool:
    """Say whether working days count as uses of a unit."""
    return not unknown(story, n, at) and story.use(n, at) in COUNTED_USES and not counts_worn(story, n, at)


def open_breach(story: Story, n: int, at: datetime) -> bool:
    """Say whether a use outside cover still waits for a check, an examination or a return."""
    lapses = ((use, lapse) for use in uses(story, at) for lapse in use.lapses if lapse <= at)
    return any(not ended(story, use, lapse, n) for use, lapse in lapses)


def ended(story: Story, use: Use, lapse: datetime, n: int) -> bool:
    """Say whether a breach has ended within the first `n` facts."""
    start = use.n if lapse == use.at else story.upto(lapse)
    return any(ends_breach(story, index, use.who) for index in story.back(n, start))


def ends_breach(story: Story, index: int, who: str | None) -> bool:
    """Say whether a fact ends the breach of a wearer (None: nobody known)."""
    if story.valid_examination(index) or story.leaving(index):
        return True
    fact = story.facts[index]
    if fact.kind != "checked" or fact.echo or fact.get("wearer") is None or who not in {None, fact.get("wearer")}:
        return False
    return cover(story, index + 1, fact.at, fact.get("wearer")) is not None


def function_check_owed(story: Story, n: int) -> bool:
    """Say whether an emergency, training or fit-test use waits for a complete check or a passing examination."""
    for index in story.back(n):
        if story.complete_check(index) or story.valid_examination(index):
            return False
        if story.facts[index].kind == "worn" and story.purpose(index) in SPECIAL:
            return True
    return False


def cleaning_owed(story: Story, n: int) -> bool:
    """Say whether a special use, or another wearer after the last, waits for the unit to be cleaned."""
    for index in story.back(n):
        fact = story.facts[index]
        if fact.kind == "cleaned" and fact.get("scope") == "unit":
            return False
        if fact.kind == "worn" and story.purpose(index) in SPECIAL:
            return True
        if story.wearer(index) is not None and worn_uncleaned(story, index):
            return True
    return False


def worn_uncleaned(story: Story, index: int) -> bool:
    """Say whether a wearing followed another person's without a cleaning between, where that is a duty."""
    if not story.setting("cleaning", "between_wearers", index + 1, story.facts[index].versions_at):
        return False
    for earlier in story.back(index):
        fact = story.facts[earlier]
        if fact.kind == "cleaned" and fact.get("scope") == "unit":
            return False
        if story.wearer(earlier) is not None:
            return story.wearer(earlier) != story.wearer(index)
    return False
