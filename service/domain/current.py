"""What is defined now: of each thing the newest version that was not taken back.

A policy is set for a scope: what is said of one site is a thing of its own beside what is said of the whole firm.
"""

from collections.abc import Iterable
from typing import NamedTuple

from service.domain.event import ReferenceEvent
from service.domain.kinds.policy_set import PolicySet
from service.domain.kinds.site_defined import SiteDefined
from service.domain.recorded import Recorded
from service.domain.voiding import voidings


class Name(NamedTuple):
    """What a version is one of: a reference, and of a policy the site and model it is narrowed to ("" for all)."""

    ref: str
    site: str = ""
    model: str = ""


def name_of(event: ReferenceEvent) -> Name:
    """Name what an event defines."""
    if isinstance(event, PolicySet):
        return Name(event.policy, event.scope.site or "", event.scope.model or "")
    return Name(event.subjects()[0].partition(":")[2])


def current(rows: Iterable[Recorded], kind: str) -> dict[Name, Recorded]:
    """Give the newest event of a kind by what it defines, of rows in the order of the log."""
    every = list(rows)
    taken_back = voidings(every)
    standing = [row for row in every if row.event.kind == kind and row.event.id not in taken_back]
    return {name_of(row.event): row for row in standing if isinstance(row.event, ReferenceEvent)}


def site_of(event: ReferenceEvent) -> str | None:
    """Give the site that a definition is of, or a policy is narrowed to; None for what holds for the whole firm."""
    name = name_of(event)
    return (name.ref if isinstance(event, SiteDefined) else name.site) or None


def readable(event: ReferenceEvent, sites: frozenset[str] | None) -> bool:
    """Say whether a key bound to sites may read a definition: that of its own sites, and what holds for the firm."""
    of_site = site_of(event)
    return sites is None or of_site is None or of_site in sites
