"""Explaining: the standing of a unit through time with what every rule says, its grounds and its clauses."""

from collections.abc import Iterable, Iterator, Sequence
from datetime import datetime
from uuid import UUID

import msgspec
from msgspec.structs import replace

from service.domain.facts import Fact, Signal
from service.domain.fold import Folded, meant, passing, signalled, tell
from service.domain.intervals import Interval, in_scope, judge, stretch
from service.domain.scene import Scene
from service.domain.standing import FOREVER, Span
from service.domain.unit import Unit
from service.domain.world import World


class Explained(msgspec.Struct, frozen=True):
    """Overall intervals in order, and the spans of every rule in scope by its name; equal neighbours are joined."""

    intervals: tuple[Interval, ...]
    rules: dict[str, tuple[Span, ...]]


def explain(start: Folded, facts: Sequence[Fact | Signal], world: World) -> Explained:
    """Fold a unit once more and keep what every rule said."""
    told: list[Interval] = []
    rules: dict[str, list[Span]] = {}
    for unit, scene in _scenes(start, facts, world):
        tell(told, stretch(unit, scene))
        for name, spans in judge(unit, scene).items() if in_scope(unit, scene) else ():
            for span in spans:
                _join_span(rules.setdefault(name, []), span)
    return Explained(tuple(told), {name: tuple(spans) for name, spans in rules.items()})


def _scenes(start: Folded, facts: Iterable[Fact | Signal], world: World) -> Iterator[tuple[Unit, Scene]]:
    """Give every stretch of time between facts and versions, with the unit as it stands in it."""
    unit, now = start.unit, start.at
    for fact in facts:
        if fact.at > now:
            for after, scene, _ in passing(unit, now, fact.at, world):
                unit = after
                yield unit, scene
            now = fact.at
        unit = signalled(unit, fact) if isinstance(fact, Signal) else meant(unit, fact, world)
    for after, scene, _ in passing(unit, now, FOREVER, world):
        yield after, scene


def _join_span(told: list[Span], span: Span) -> None:
    """Join spans of equal standing and reasons, even if their grounds grow (R53)."""
    last = told[-1] if told else None
    if last is None or last.until != span.since or (last.standing, last.reasons) != (span.standing, span.reasons):
        told.append(span)
        return
    because = tuple(dict.fromkeys((*last.because, *span.because)))
    told[-1] = replace(last, until=span.until, because=because)


def shown(explained: Explained, since: datetime, until: datetime, seqs: dict[UUID, int]) -> list[dict[str, object]]:
    """Give the intervals that reach into [since, until), cut to it, each with its rules; events by their seq."""
    return [
        {
            "standing": one.standing,
            "phase": one.phase,
            "site": one.site,
            "in_scope": one.in_scope,
            "do_not_use": one.do_not_use,
            "reasons": one.reasons,
            "since": max(one.since, since),
            "until": _end(min(one.until, until)),
            "rules": [
                _span(name, span, seqs)
                for name, spans in explained.rules.items()
                for span in spans
                if span.since < min(one.until, until) and span.until > max(one.since, since)
            ],
        }
        for one in explained.intervals
        if one.since < until and one.until > since
    ]


def _span(name: str, span: Span, seqs: dict[UUID, int]) -> dict[str, object]:
    return {
        "rule": name,
        "standing": span.standing,
        "reasons": span.reasons,
        "since": span.since,
        "until": _end(span.until),
        "because": sorted(seqs[event] for event in span.because if event in seqs),
        "source": span.source,
    }


def _end(until: datetime) -> datetime | None:
    return None if until == FOREVER else until
