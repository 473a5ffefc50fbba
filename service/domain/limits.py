"""Limits: reference data that is turned away when it is posted, and why.

A policy beyond what the law allows (R50), one that loosens without a reason (design 4), and what nothing could be
reckoned with. Asked once, before recording; what is recorded is judged by the fences in `duties` alone.
"""

from collections.abc import Iterator
from typing import NamedTuple

from service.domain.event import ReferenceEvent
from service.domain.kinds.policy_set import PolicySet
from service.domain.loosened import laws_in_reach, looser_values
from service.domain.period import Period, longer
from service.domain.policies import PolicyBook, flat, scope_of
from service.domain.policy import ByUse
from service.domain.profile import Examining, examining
from service.domain.rulebook import Rulebook
from service.domain.standing import FOREVER
from service.domain.unsound import unsound
from service.domain.versions import Version

ELAPSED = ("cover", "in_use_recheck", "tolerance")


class Refusal(NamedTuple):
    """What is wrong and where (a JSON pointer); `clause` is the law's, where it is the law that says no."""

    pointer: str
    detail: str
    clause: str = ""


def refusals(event: ReferenceEvent, rulebook: Rulebook) -> list[Refusal]:
    """Give the grounds to turn a reference event away: what is unusable, else what the law forbids, else no reason.

    Of several laws that forbid the same the first is named.
    """
    if isinstance(event, PolicySet):
        beyond = {found.pointer: found for found in reversed(list(_beyond_law(event, rulebook)))}
        return list(_unusable(event)) or list(reversed(beyond.values())) or list(_unreasoned(event, rulebook))
    return [Refusal(pointer, detail) for pointer, detail in unsound(event)]


def _periods(event: PolicySet) -> Iterator[tuple[str, str]]:
    """Give the periods that are reckoned with, each with the field it stands in."""
    for name, value in event.values.given().items():
        if isinstance(value, ByUse):
            uses = ((use, getattr(value, use)) for use in value.__struct_fields__)
            yield from ((f"{name}/{use}", text) for use, text in uses if text is not None)
        elif name in {"interval", *ELAPSED}:
            yield name, value


def _unusable(event: PolicySet) -> Iterator[Refusal]:
    for field, text in _periods(event):
        if field.startswith("interval") and Period.parse(text).clock:
            yield Refusal(f"/values/{field}", "an interval leads from day to day: state days, weeks or months")
        if field in ELAPSED and Period.parse(text).whole_months:
            yield Refusal(f"/values/{field}", "elapses by the clock: state days or hours, months have no such length")


def _beyond_law(event: PolicySet, rulebook: Rulebook) -> Iterator[Refusal]:
    """Give what goes beyond the law of any site that the policy reaches, as sites and models are defined last."""
    laws = sorted(laws_in_reach(rulebook, scope_of(event), FOREVER))
    for name, value in flat(event.values):
        field = name if isinstance(event.values.interval, ByUse) else name.split("/")[0]
        if name.startswith("interval/"):
            for profile, device in laws:
                use = name.removeprefix("interval/")
                yield from _too_long(field, value, use, examining(profile, device, use))


def _too_long(field: str, interval: Period, use: str, law: Examining) -> Iterator[Refusal]:
    if law.longest is not None and longer(interval, law.longest):
        detail = f"{interval} is longer than the law allows for {use} use: at most {law.longest}"
        yield Refusal(f"/values/{field}", detail, law.source.clause)


def _unreasoned(event: PolicySet, rulebook: Rulebook) -> Iterator[Refusal]:
    if event.reason is not None:
        return
    scope = scope_of(event)
    book = rulebook.policies.get(event.policy) or PolicyBook(event.policy, {})
    laws = laws_in_reach(rulebook, scope, FOREVER)
    values = looser_values(book, scope, Version(FOREVER, event, 0, FOREVER), laws, FOREVER)
    named = [name for name in values if name != "confined_proven"]  # which has a person and a reason of its own
    if named:
        yield Refusal("/reason", f"{', '.join(named)} would ask for less: that needs a reason")
