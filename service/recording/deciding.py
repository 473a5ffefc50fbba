"""Deciding: messages one after the other, each in sight of those accepted before it at the same desk."""

import os
from typing import Final

import msgspec

from service.domain.codec import blank, encode, seal
from service.domain.conflict import Conflict
from service.domain.errors import ContentClash, Malformed
from service.domain.event import Event, ReferenceEvent
from service.domain.kinds.order_cancelled import OrderCancelled
from service.domain.kinds.order_placed import OrderPlaced
from service.domain.kinds.quarantined import Quarantined
from service.domain.kinds.reorder_approved import ReorderApproved
from service.domain.kinds.voided import Voided
from service.recording.accepted import Accepted, Again, Decision
from service.recording.admission import admitted, demand_sender
from service.recording.demands import demand, version_of
from service.recording.desk import Desk
from service.recording.filing import tags_of
from service.recording.incoming import Incoming, Read, Repeat
from service.recording.placing import place
from service.recording.references import is_context
from service.store.append import FreeText
from service.store.stored import Stored

ORDERED: Final[dict[type[Event], tuple[str, ...]]] = {
    Quarantined: ("asset", "reason", "recall"),
    ReorderApproved: ("proposal", "quantity"),
    OrderPlaced: ("proposal", "order", "lines", "supplier", "expected_on"),
    OrderCancelled: ("proposal", "order"),
}
"""By what two events are the same order."""
CONFLICTS = msgspec.json.Decoder(tuple[Conflict, ...])


async def decide(desk: Desk, read: Read) -> Decision:
    """Decide one message. Raises Refused."""
    if read.refused is not None or read.event is None:
        raise read.refused or Malformed("", "no event")
    sender = read.incoming.sender
    demand_sender(read.event, sender)
    known = _known_already(desk, read.event, read.incoming)
    if known is not None:
        return known
    event = admitted(read.event, sender, desk.world)
    await demand(desk, event, read.incoming)
    accepted = _accept(desk, event, read.incoming)
    await place(desk, accepted)
    desk.take(accepted)
    return accepted


def _known_already(desk: Desk, event: Event, incoming: Incoming) -> Decision | None:
    """Give the repeat that the event is. Raises ContentClash where its id has other content.

    What was sent is compared: a message without a site is the same whichever key it comes with, though the service
    gave the event the site of the key that it came with first. Of what is ordered at a door only what it orders counts.
    """
    earlier, sites = desk.brought.get(event.id), incoming.sender.sites
    if earlier is not None:
        if incoming.ordered and _orders_the_same(event, earlier.recorded.event):
            return Again(earlier)
        event = _sited_as(event, earlier.recorded.event)
        key = earlier.texts[0].key if earlier.texts else b""
        if encode(seal(event, key)[0]) != earlier.body:
            raise ContentClash
        return Again(earlier)
    stored = desk.stored.get(event.id)
    if stored is None:
        return None
    if incoming.ordered and _orders_the_same(event, stored.recorded.event):
        return Repeat(stored.recorded, CONFLICTS.decode(stored.conflicts))
    event = _sited_as(event, stored.recorded.event)
    unreadable = sites is not None and stored.recorded.event.site not in sites
    if unreadable or not _same(event, stored, desk.texts.get(event.id)):
        raise ContentClash
    return Repeat(stored.recorded, CONFLICTS.decode(stored.conflicts))


def _orders_the_same(event: Event, known: Event) -> bool:
    """Say whether both order the same, by whomever and whenever: a unit out of use for a recall, or goods."""
    fields = ORDERED.get(type(event), ())
    same = type(event) is type(known) and all(getattr(event, name) == getattr(known, name) for name in fields)
    return bool(fields) and same


def _sited_as(event: Event, known: Event) -> Event:
    return event if event.site is not None else msgspec.structs.replace(event, site=known.site)


def _same(event: Event, stored: Stored, texts: list[FreeText] | None) -> bool:
    """Compare with the log: texts under the key of the first; erased ones are left out of account."""
    if texts:
        return encode(seal(event, texts[0].key)[0]) == stored.body
    sealed, said = seal(event, b"")
    if not said:
        return encode(sealed) == stored.body
    return encode(blank(sealed)) == encode(blank(stored.recorded.event))


def _accept(desk: Desk, event: Event, incoming: Incoming) -> Accepted:
    key = os.urandom(32)
    sealed, texts = seal(event, key)
    voided = desk.known_event(event.event) if isinstance(event, Voided) else None
    target = None if voided is None else desk.root(voided).event
    return Accepted(
        incoming=incoming,
        recorded=desk.as_recorded(sealed, incoming),
        body=encode(sealed),
        texts=tuple(FreeText(path=path, key=key, text=text) for path, text in texts.items()),
        context=is_context(event, target),
        tags=tags_of(event if target is None else target),
        target=target,
        replaces=incoming.starts_from is not None
        and isinstance(event, ReferenceEvent)
        and version_of(desk, event) is not None,
    )
