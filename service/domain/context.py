"""Context: what every judgement may rest on, put together from the events that say it."""

from collections.abc import Iterable, Mapping
from datetime import UTC
from uuid import UUID

from service.domain.caller import KeyHolder
from service.domain.facts import fold_key, instant
from service.domain.kinds.authorisation_ended import AuthorisationEnded
from service.domain.kinds.recall_opened import RecallOpened
from service.domain.kinds.trained import Trained
from service.domain.people import Dated, People
from service.domain.recall.dating import opened_by
from service.domain.recall.opening import Opening, Openings
from service.domain.recorded import Recorded
from service.domain.rulebook import Rulebook
from service.domain.suspicion import counts_at_receipt
from service.domain.voiding import every_voiding, voidings
from service.domain.world import World


def world_of(rows: Iterable[Recorded], keys: Mapping[UUID, KeyHolder]) -> World:
    """Build the world from the context events known: reference data, persons, recalls, and voidings of those."""
    known = list(rows)
    rulebook = Rulebook.build(known)
    bare = World(rulebook, People(), keys)
    recalls, rehearsed = (Openings(_opened(known, bare, rehearsal=rehearsal)) for rehearsal in (False, True))
    return World(rulebook, People(_dated(known, bare)), keys, recalls, rehearsed)


def _dated(rows: Iterable[Recorded], world: World) -> Iterable[Dated]:
    """Date what is said of competences. Bad news stays even where it was voided, and counts at receipt if doubtful."""
    known = list(rows)
    taken_back = voidings(known)
    for row in known:
        event = row.event
        if isinstance(event, Trained) and event.id in taken_back:
            continue
        if not isinstance(event, Trained | AuthorisationEnded):
            continue
        at = instant(event, None, world)
        yield Dated(event, fold_key(event, at))
        if isinstance(event, AuthorisationEnded) and counts_at_receipt(row, at, world):
            yield Dated(event, fold_key(event, row.received_at.astimezone(UTC), echo=True))


def _opened(rows: Iterable[Recorded], world: World, *, rehearsal: bool) -> Iterable[Opening]:
    """Date the openings of recalls, or those of rehearsals, which are none."""
    known = list(rows)
    taken_back = every_voiding(known)
    for row in known:
        if isinstance(row.event, RecallOpened) and row.event.rehearsal == rehearsal:
            yield from opened_by(row, row.event, taken_back, world)
