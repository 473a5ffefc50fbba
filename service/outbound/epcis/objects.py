"""ObjectEvents: what happens to a unit as a whole."""

from collections.abc import Iterator

from service.domain.check import CheckEvent
from service.domain.event import AssetEvent
from service.domain.holder import Holder
from service.domain.kinds.cleaned import Cleaned
from service.domain.kinds.examined import Examined
from service.domain.kinds.failed_in_use import FailedInUse
from service.domain.kinds.issued import Issued
from service.domain.kinds.moved import Moved
from service.domain.kinds.registered import Registered
from service.domain.kinds.released import Released
from service.domain.kinds.retagged import Retagged
from service.domain.kinds.sent_to_service import SentToService
from service.outbound.epcis.act import Act
from service.outbound.epcis.names import Names, own
from service.outbound.epcis.readings import points, sensors
from service.outbound.epcis.table import OBJECTS, VARIES, Own, Row

Json = dict[str, object]

TURNED = "non_conformant"
BROKEN = "needs_replacement"


def objects(event: AssetEvent, act: Act, names: Names) -> Iterator[Json]:
    """Draw the events of the unit itself. A new tag is a new name: the old one ends, and the new one begins."""
    yield {
        "type": "ObjectEvent",
        "epcList": [names.unit(event.asset)],
        **words(row_of(event), act, names),
        **where(event, row_of(event), act, names),
        **whither(event, act, names),
        **papers(event, act, names),
        **lasting(event, act),
        **sensors(event, names),
        **points(event),
        **_more(event),
    }
    if isinstance(event, Retagged):
        row = OBJECTS["registered"]
        new = {"type": "ObjectEvent", "epcList": [names.unit(event.new_tag)]}
        yield new | words(row, act, names) | where(event, row, act, names)


def row_of(event: AssetEvent) -> Row:
    """Find the words for an event, by what it says where its kind has several."""
    said = getattr(event, VARIES.get(event.kind, ""), "")
    return OBJECTS.get(f"{event.kind} {said}") or OBJECTS[event.kind]


def words(row: Row, act: Act, names: Names) -> Json:
    """Give the action, the step and how the thing is afterwards."""
    disposition = row.disposition
    if row.judged:
        disposition = {"passing": row.disposition, "failing": TURNED}.get(act.outcome or "incomplete")
    step = names.term(row.step) if isinstance(row.step, Own) else row.step
    afterwards = {} if disposition is None else {"disposition": disposition}
    return {"action": row.action, "bizStep": step, **afterwards}


def where(event: AssetEvent, row: Row, act: Act, names: Names) -> Json:
    """Give the site where it was done, and the place where the unit is afterwards."""
    if act.site is None:
        return {}
    here = {"readPoint": {"id": names.place(act.site, None)}}
    stays = {"bizLocation": {"id": names.place(act.site, getattr(event, "place", None))}} if row.stays else {}
    return {**here, **stays}


def whither(event: AssetEvent, act: Act, names: Names) -> Json:
    """Give who or what has the unit afterwards; a person is never named."""
    match event:
        case Issued(holder=Holder(crew=str(crew))):
            party, whom = "possessing_party", names.thing("crews", crew)
        case Issued(holder=Holder(vehicle=str(vehicle))):
            party, whom = "possessing_party", names.thing("vehicles", vehicle)
        case Issued(holder=Holder(place=str(place))) if act.site is not None:
            party, whom = "location", names.place(act.site, place)
        case Moved():
            party, whom = "location", names.place(event.to_site, None)
        case SentToService():
            party, whom = "possessing_party", names.thing("providers", event.provider)
        case _:
            return {}
    return {"destinationList": [{"type": party, "destination": whom}]}


def papers(event: AssetEvent, act: Act, names: Names) -> Json:
    """Give what an event is a part of: its test, its certificate, its recall."""
    found = []
    if isinstance(event, CheckEvent | Examined):
        found.append({"type": "testres", "bizTransaction": names.thing("events", str(act.recorded.event.id))})
    if isinstance(event, Examined) and event.certificate:
        found.append({"type": "cert", "bizTransaction": names.thing("certificates", event.certificate)})
    recall = getattr(event, "recall", None)
    if recall:
        found.append({"type": names.term("recall"), "bizTransaction": names.thing("recalls", recall)})
    return {"bizTransactionList": found} if found else {}


def lasting(event: AssetEvent, act: Act) -> Json:
    """Give how the unit is until something else is said: a failure lasts until a release that has its ground.

    What a new check puts right, as a battery that was low, lasts no longer than that check, and is not told so.
    """
    if isinstance(event, FailedInUse) or act.withdraws:
        return {"persistentDisposition": {"set": [BROKEN]}}
    if isinstance(event, Released) and act.outcome == "passing":
        return {"persistentDisposition": {"unset": [BROKEN]}}
    return {}


def _more(event: AssetEvent) -> Json:
    match event:
        case Registered():
            known = {"model": event.model, "serial": event.serial, "made_on": event.made_on, "size": event.size}
            return {"ilmd": {own(name): str(value) for name, value in known.items() if value is not None}}
        case FailedInUse(signs=signs) if signs:
            return {own("signs"): list(signs)}
        case Cleaned(position=str(position)):
            return {own("position"): position}
    return {}
