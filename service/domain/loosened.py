"""Loosened rules: what is in force and asks for less than law, default or a wider policy would, and who answers for it.

Two things show here (design 4, R5, R36): a policy in force that is looser than what would hold without it, and a
correction that bites before its receipt and is looser than what it displaced.
"""

from collections.abc import Iterable, Iterator
from typing import Any, TypeVar
from uuid import UUID

import msgspec

from service.domain.duties import DEVICE_WHEN_UNKNOWN
from service.domain.event import ReferenceEvent
from service.domain.kinds.policy_set import PolicySet
from service.domain.looser import (
    Law,
    calendar_looser,
    instrument_looser,
    item_looser,
    model_looser,
    policy_looser,
    profile_looser,
)
from service.domain.policies import PolicyBook, Scope, Setting, flat
from service.domain.rulebook import Rulebook, Shelf
from service.domain.versions import Instant, Version

E = TypeVar("E", bound=ReferenceEvent)


class Loosened(msgspec.Struct, frozen=True, kw_only=True):
    """One loosened rule.

    `subject` is what was set ("policy:pre-use-check", "site:harrow-dock", "asset:FX-0142"), `values` the fields that
    ask for less, `because` the seq of the event, whose `reason` is kept as the event has it. Of a unit of occasional
    use, `asset` and `rule` say which unit, and which rule asks less of it.
    """

    subject: str
    rule: str | None = None
    asset: str | None = None
    policy: str | None
    site: str | None
    model: str | None
    values: tuple[str, ...]
    by: str
    reason: str | None
    since: Instant
    event: UUID
    because: tuple[int, ...]


def loosened(rulebook: Rulebook, as_at: Instant) -> list[Loosened]:
    """List the loosened rules in force at a moment, by subject and scope."""
    found = [*_policies(rulebook, as_at), *_corrections(rulebook, as_at)]
    return sorted(found, key=lambda row: (row.subject, row.site or "", row.model or ""))


def _policies(rulebook: Rulebook, as_at: Instant) -> Iterator[Loosened]:
    for book in rulebook.policies.values():
        for scope, timeline in book.scopes.items():
            version = timeline.begun(as_at)
            if version is not None:
                values = looser_values(book, scope, version, laws_in_reach(rulebook, scope, as_at), as_at)
                yield from _row(version, values, *scope)


def looser_values(
    book: PolicyBook, scope: Scope, version: Version[PolicySet], laws: Iterable[Law], as_at: Instant
) -> tuple[str, ...]:
    """Name the values in which a policy asks for less than wider policies, the law or the default would."""
    wider = {reach: found for reach, found in book.reaching(as_at, *scope).items() if reach != scope}
    laws = tuple(laws)
    new = book.resolve({**wider, scope: version})
    stated = {name for name, _ in flat(version.event.values)}
    without = (book.resolve(wider), book.resolve({}))
    names = [name for old in without for name in policy_looser(new, old, laws) if name in stated]
    return tuple(dict.fromkeys(names + list(_displacing(book, scope, version, new, laws))))


def _displacing(
    book: PolicyBook, scope: Scope, version: Version[PolicySet], new: Setting, laws: tuple[Law, ...]
) -> Iterator[str]:
    timeline = book.scopes.get(scope)
    before = timeline.before(version) if timeline and version.backdated else None
    displaced = before.begun(version.since) if before else None
    if displaced is not None:
        old = book.resolve({**book.reaching(version.since, *scope), scope: displaced})
        yield from policy_looser(new, old, laws)


def laws_in_reach(rulebook: Rulebook, scope: Scope, at: Instant) -> set[Law]:
    """Give each profile and device that a scope reaches: all sites and models, unless it names one."""
    site, model = scope
    sites = _events(rulebook.sites, None if site is None else f"site:{site}", at)
    devices = _devices(rulebook, None if model is None else f"model:{model}", at)
    return {(found.profile, device) for found in sites for device in devices}


def _devices(rulebook: Rulebook, model: str | None, at: Instant) -> set[str]:
    return {found.device for found in _events(rulebook.models, model, at)} or {DEVICE_WHEN_UNKNOWN}


def _events(shelf: Shelf[Any], subject: str | None, at: Instant) -> list[Any]:
    if subject is None:
        return [timeline.holding(at).event for timeline in shelf.timelines.values()]
    return [shelf.timelines[subject].holding(at).event] if subject in shelf.timelines else []


def _corrections(rulebook: Rulebook, as_at: Instant) -> Iterator[Loosened]:
    for site, old_site, until in _backdated(rulebook.sites, as_at):
        less = {
            "profile": profile_looser(site.event.profile, old_site.event.profile, _devices(rulebook, None, as_at)),
            "calendar": calendar_looser(site.event, old_site.event, site.since, until),
        }
        yield from _row(site, (name for name, looser in less.items() if looser), site=site.event.site)
    for model, old_model, _ in _backdated(rulebook.models, as_at):
        yield from _row(model, model_looser(model.event, old_model.event), model=model.event.model)
    for item, old_item, _ in _backdated(rulebook.items, as_at):
        yield from _row(item, item_looser(item.event, old_item.event))
    for instrument, old_instrument, _ in _backdated(rulebook.instruments, as_at):
        yield from _row(instrument, instrument_looser(instrument.event, old_instrument.event))


def _backdated(shelf: Shelf[E], as_at: Instant) -> Iterator[tuple[Version[E], Version[E], Instant]]:
    """Give the versions in force that bite before their receipt, what held in their place, and until when."""
    for timeline in shelf.timelines.values():
        version = timeline.begun(as_at)
        before = timeline.before(version) if version and version.backdated else None
        if version and before:
            end = timeline.end(version) or version.received_at
            yield version, before.holding(version.since), min(version.received_at, end)


def _row(
    version: Version[E], values: Iterable[str], site: str | None = None, model: str | None = None
) -> Iterator[Loosened]:
    event, named = version.event, tuple(values)
    if named:
        yield Loosened(
            subject=event.subjects()[0],
            policy=event.policy if isinstance(event, PolicySet) else None,
            site=site,
            model=model,
            values=named,
            by=event.by,
            reason=event.reason,
            since=version.since,
            event=event.id,
            because=(version.seq,),
        )
