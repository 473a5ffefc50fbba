"""The devices that post: when each was last heard of, what of it is missing, its clock, how late it comes.

Nothing of it is stored: it is told from the log and from what was refused, for one page of devices at a time. A key
bound to sites is told of what a device posted for these. What is missing it is told of devices that posted for no
other: numbers given at another site would look like gaps.
"""

from collections.abc import Iterable
from typing import Final

import msgspec

from service.assessing.counters import counters
from service.assessing.heard import Heard, heard
from service.assessing.moment import Question
from service.assessing.places import Places, sites_of
from service.domain.caller import Caller
from service.domain.device_clock import offset, since_step
from service.domain.errors import NotFound
from service.page import Page
from service.store.device_posts import Posts
from service.store.devices_after import devices_after

DEVICE: Final = "device"


class Wanted(msgspec.Struct, frozen=True, kw_only=True):
    """Which devices: one, those that posted for a site. None asks nothing."""

    device: str | None = None
    site: str | None = None


async def page(question: Question, caller: Caller, wanted: Wanted, after: str | None, limit: int) -> Page:
    """List devices by name. Raises NotFound for a site or a device that the key sees nothing of."""
    sites = sites_of(question, caller, Places(site=wanted.site))
    names, more = ([wanted.device], False) if wanted.device else await _names(question, sites, after or "", limit)
    seen = await heard(question, names)
    if wanted.device and not seen:
        raise NotFound(DEVICE, parameter=DEVICE)
    found = [one for one in seen if wanted.site is None or wanted.site in one.sites]
    counted = await counters(question, found)
    return Page(
        items=[_line(question, one, counted.get(one.device)) for one in found],
        next=names[-1] if more else None,
        about={"known_at": question.known_at, "judged_to": question.judged_to},
    )


async def _names(question: Question, sites: Iterable[str] | None, after: str, limit: int) -> tuple[list[str], bool]:
    """Name the devices of a page, and say whether more follow."""
    names = await devices_after(
        question.conn,
        question.organisation,
        after=after,
        until=question.judged_to,
        known_at=question.known_at,
        sites=sites,
        limit=limit + 1,
    )
    return names[:limit], len(names) > limit


def _line(question: Question, one: Heard, counter: dict[str, object] | None) -> dict[str, object]:
    return {
        "device": one.device,
        "sites": one.sites,
        "events": 0 if one.activity is None else one.activity.events,
        "refused": 0 if one.refusals is None else one.refusals.refused,
        "first_contact": one.first_contact,
        "last_contact": one.last_contact,
        "last_event_at": None if one.activity is None else one.activity.last_event_at,
        "counter": counter,
        "clock": _clock(question, one),
        "lateness": None if one.posts is None else _lateness(one.posts),
    }


def _clock(question: Question, one: Heard) -> dict[str, object]:
    """Tell how far the device's clock is off, and whether that is more than the policy of its site bears (R8)."""
    tolerance = question.world.tolerance(one.site or "", question.known_at)
    samples = since_step(one.differences, tolerance)
    found = offset(samples)
    return {
        "offset_seconds": None if found is None else found.total_seconds(),
        "samples": len(samples),
        "tolerance_seconds": tolerance.total_seconds(),
        "suspect": found is not None and abs(found) > tolerance,
    }


def _lateness(posts: Posts) -> dict[str, object] | None:
    """Tell how long after their own time the newest events were received; None where none of them says it."""
    if posts.lateness is None:
        return None
    median, almost, most = (late.total_seconds() for late in posts.lateness)
    return {"median_seconds": median, "p95_seconds": almost, "max_seconds": most}
