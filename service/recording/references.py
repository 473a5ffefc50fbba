"""References: what an event needs to be known before it can be accepted (R46), and what its acceptance makes known."""

from collections.abc import Iterator

from service.domain.event import AssetEvent, Event, ReferenceEvent
from service.domain.kinds.assigned import Assigned
from service.domain.kinds.authorisation_ended import AuthorisationEnded
from service.domain.kinds.fit_tested import FitTested
from service.domain.kinds.model_defined import ModelDefined
from service.domain.kinds.moved import Moved
from service.domain.kinds.policy_set import PolicySet
from service.domain.kinds.registered import Registered
from service.domain.kinds.released import Released
from service.domain.kinds.retagged import Retagged
from service.domain.kinds.site_defined import SiteDefined
from service.domain.kinds.stock_moved import StockMoved
from service.domain.kinds.trained import Trained
from service.domain.kinds.voided import Voided

Reference = tuple[str, str]
"""The pointer to the field, and what it refers to: ("/asset", "asset:FX-0142")."""


DEFINED_BY = {
    "site": "site-defined",
    "model": "model-defined",
    "item": "item-defined",
    "task": "task-defined",
    "policy": "policy-set",
    "instrument": "instrument-defined",
}
"""The kind that defines each sort of reference data; its field of the same name says which one."""


def wanted(event: Event) -> Iterator[Reference]:
    """Name the assets, models, sites and events that an event refers to, in the order of importance to a sender."""
    if event.site is not None and not isinstance(event, SiteDefined):
        yield "/site", f"site:{event.site}"
    if isinstance(event, AssetEvent):
        yield from _of_asset(event)
    elif isinstance(event, Voided):
        yield "/event", f"event:{event.event}"
    elif isinstance(event, StockMoved):
        yield "/to_site", f"site:{event.to_site}"
    elif isinstance(event, PolicySet):
        yield from _given("/scope/site", "site", event.scope.site)
        yield from _given("/scope/model", "model", event.scope.model)
    else:
        yield from _of_person(event)


def _of_asset(event: AssetEvent) -> Iterator[Reference]:
    if isinstance(event, Registered):
        yield "/model", f"model:{event.model}"
        yield from _given("/fitted_to", "asset", event.fitted_to)
        return
    yield "/asset", f"asset:{event.asset}"
    if isinstance(event, Moved):
        yield "/to_site", f"site:{event.to_site}"
    if isinstance(event, Released) and event.voiding is not None:
        yield "/voiding", f"event:{event.voiding}"


def _of_person(event: Event) -> Iterator[Reference]:
    if isinstance(event, Trained):
        for place, model in enumerate(event.models):
            yield f"/models/{place}", f"model:{model}"
    elif isinstance(event, FitTested | AuthorisationEnded):
        yield from _given("/model", "model", event.model)
    elif isinstance(event, Assigned):
        yield from _given("/asset", "asset", event.asset)


def _given(pointer: str, kind: str, ref: str | None) -> Iterator[Reference]:
    if ref is not None:
        yield pointer, f"{kind}:{ref}"


def supplied(event: Event) -> Iterator[str]:
    """Name what the acceptance of an event makes known to messages that wait."""
    yield f"event:{event.id}"
    if isinstance(event, Registered):
        yield f"asset:{event.asset}"
    elif isinstance(event, Retagged):
        yield f"asset:{event.new_tag}"
    elif isinstance(event, SiteDefined):
        yield f"site:{event.site}"
    elif isinstance(event, ModelDefined):
        yield f"model:{event.model}"


def changed(event: Event) -> Iterator[str]:
    """Name what judgements asked for that an event of the context may answer otherwise, as kins depend on it."""
    if isinstance(event, ReferenceEvent):
        yield from event.subjects()
    elif isinstance(event, Trained):
        yield from (f"{competence}:{event.person}" for competence in event.competences)
    elif isinstance(event, AuthorisationEnded):
        yield f"{event.of}:{event.person}"


def is_context(event: Event, target: Event | None = None) -> bool:
    """Say whether judgements of any unit may rest on it: reference data, persons, recalls, and voidings of those."""
    judged = target if isinstance(event, Voided) and target is not None else event
    return isinstance(judged, ReferenceEvent) or judged.family in {"person", "recall"}
