"""Admission: may this sender post this event, and can it be true yet. Looks at nothing but the message."""

from collections.abc import Iterator
from datetime import timedelta
from typing import get_args

import msgspec

from service.domain.calendar import day_start
from service.domain.caller import Role
from service.domain.codec import decode
from service.domain.current import site_of
from service.domain.errors import InTheFuture, KindNotAllowed, Malformed, Refused, SiteNotAllowed, UnsupportedModel
from service.domain.event import Event, ReferenceEvent
from service.domain.kinds.item_defined import ItemDefined
from service.domain.kinds.model_defined import ModelDefined
from service.domain.kinds.order_placed import OrderPlaced
from service.domain.kinds.policy_set import PolicySet
from service.domain.policy import PolicyValues
from service.domain.world import World
from service.recording.incoming import Incoming, Read, Sender
from service.reference.currencies import is_currency

EARLY = timedelta(minutes=5)
UNBUILT = frozenset({"airline", "cylinder"})
LEAD_ONLY = frozenset({"released", "retired", "retagged"})
COUNTS = frozenset({"stock-received", "stock-counted", "stock-discarded"})
DEFINES = {"site-defined": "/site", "policy-set": "/scope"}
"""Where a definition says which site it is of."""
SITE_LEAD = frozenset({"voided", "exception-acknowledged"})


def read(incoming: Incoming) -> Read:
    """Read the event of a message. `sent_at` of a message stands in the event, or beside it."""
    try:
        event = decode(incoming.raw)
    except Refused as error:
        return Read(incoming=incoming, refused=error)
    if event.sent_at is not None:
        sender = msgspec.structs.replace(incoming.sender, sent_at=event.sent_at)
        incoming = msgspec.structs.replace(incoming, sender=sender)
    return Read(incoming=incoming, event=msgspec.structs.replace(event, sent_at=None))


def demand_sender(event: Event, sender: Sender) -> None:
    """Demand that the sender may post it at all. Raises KindNotAllowed, and SiteNotAllowed for a site that it names.

    A key bound to sites defines what is theirs alone, nothing that holds for the whole firm or for another site.
    """
    if not may_post(event, sender.role):
        raise KindNotAllowed(event.kind, sender.role, [role for role in get_args(Role) if may_post(event, role)])
    if sender.sites is None:
        return
    if isinstance(event, ReferenceEvent) and site_of(event) not in sender.sites:
        raise SiteNotAllowed(site_of(event), DEFINES.get(event.kind, ""))
    if event.site is not None and event.site not in sender.sites:
        raise SiteNotAllowed(event.site)


def admitted(event: Event, sender: Sender, world: World) -> Event:
    """Give the event with the site it is posted for. Raises Refused."""
    event = at_site(event, sender)
    if isinstance(event, ModelDefined) and event.device in UNBUILT:
        detail = f"Units of device {event.device!r} cannot be kept yet: their air supply is not judged."
        raise UnsupportedModel("/device", detail)
    for pointer, currency in currencies(event):
        if not is_currency(currency):
            raise Malformed(pointer, f"{currency!r} is no code of ISO 4217.")
    begins = event.occurred_at or day_start(event.earliest_day(), world.zone_on(event.site or "", event.earliest_day()))
    if begins > sender.received_at + EARLY:
        field = "occurred_at" if event.occurred_on is None else "occurred_on"
        detail = "Lies more than five minutes in the future: set the clock of the device, or wait."
        raise InTheFuture(f"/{field}", detail)
    return event


def currencies(event: Event) -> Iterator[tuple[str, str]]:
    """Give the currencies that an event names, each with its place."""
    match event:
        case ItemDefined(currency=str(currency)):
            yield "/currency", currency
        case PolicySet(values=PolicyValues(currency=str(currency))):
            yield "/values/currency", currency
        case OrderPlaced():
            for nth, line in enumerate(event.lines):
                if line.currency is not None:
                    yield f"/lines/{nth}/currency", line.currency


def may_post(event: Event, role: Role) -> bool:
    """Say who posts what (R37)."""
    match role:
        case "administrator":
            return True
        case "manager":
            return event.family != "reference"
        case "site-lead":
            return event.family in {"asset", "stock", "person"} or event.kind in SITE_LEAD
        case "site-app":
            return (event.family == "asset" and event.kind not in LEAD_ONLY) or event.kind in COUNTS
        case "integrator":
            return event.family == "order" or event.kind == "stock-received"
    return False


def at_site(event: Event, sender: Sender) -> Event:
    """Give the event its site: as it says, else the key's only one. Raises Malformed."""
    if sender.sites is None or event.site is not None:
        return event
    if len(sender.sites) != 1:
        raise Malformed("/site", "This key posts for several sites: say which one.")
    return msgspec.structs.replace(event, site=next(iter(sender.sites)))
