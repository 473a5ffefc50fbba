"""Context: what every judgement may rest on, put together from the events that say it."""

from collections.abc import Iterable, Mapping
from uuid import UUID

from service.domain.calendar import day_end
from service.domain.facts import instant
from service.domain.kinds.authorisation_ended import AuthorisationEnded
from service.domain.kinds.trained import Trained
from service.domain.people import Dated, People
from service.domain.recorded import Recorded
from service.domain.rulebook import Rulebook
from service.domain.standing import FOREVER
from service.domain.voiding import voidings
from service.domain.world import KeyHolder, World


def world_of(rows: Iterable[Recorded], keys: Mapping[UUID, KeyHolder]) -> World:
    """Build the world from the context events known: reference data, persons, and voidings of those."""
    known = list(rows)
    rulebook = Rulebook.build(known)
    bare = World(rulebook, People(), keys)
    return World(rulebook, People(_dated(known, bare)), keys)


def _dated(rows: Iterable[Recorded], world: World) -> Iterable[Dated]:
    """Date what is said of competences. Bad news stays even where it was voided."""
    known = list(rows)
    taken_back = voidings(known)
    for row in known:
        event = row.event
        if isinstance(event, AuthorisationEnded):
            yield Dated(event, instant(event, None, world))
        elif isinstance(event, Trained) and event.id not in taken_back:
            last = event.valid_until
            until = FOREVER if last is None else day_end(last, world.zone_on(event.site or "", last))
            yield Dated(event, instant(event, None, world), until)
