"""What was heard of devices: by their events, and by messages of theirs that were refused."""

from collections.abc import Iterable
from datetime import datetime, timedelta

import msgspec

from service.assessing.moment import Question
from service.domain.device_clock import SAMPLES
from service.store.device_activity import Activity, device_activity
from service.store.device_posts import Posts, device_posts
from service.store.device_refusals import Refusals, device_refusals

NEWEST = 100
"""By how many of its newest events it is told how a device's events come."""


class Heard(msgspec.Struct, frozen=True, kw_only=True):
    """A device as far as a key sees anything of it: its events, how the newest came, and what was refused."""

    device: str
    activity: Activity | None
    posts: Posts | None
    refusals: Refusals | None

    @property
    def is_seen(self) -> bool:
        """Say whether the key sees anything of it."""
        return self.posts is not None or self._contacts() != []

    @property
    def sites(self) -> list[str]:
        """Name the sites that it was heard for."""
        return sorted({site for one in (self.activity, self.refusals) if one is not None for site in one.sites})

    @property
    def first_contact(self) -> datetime:
        """Give when it was first heard of."""
        first = None if self.activity is None else self.activity.first_contact
        return min(moment for moment in (first, *self._contacts()) if moment is not None)

    @property
    def last_contact(self) -> datetime:
        """Give when it was last heard of."""
        last = None if self.posts is None else self.posts.last_contact
        return max(moment for moment in (last, *self._contacts()) if moment is not None)

    @property
    def site(self) -> str | None:
        """Name the site that it was last heard for."""
        posts, refusals = self.posts, self.refusals
        if posts is None or (refusals and refusals.last_contact and refusals.last_contact > posts.last_contact):
            return (refusals.site if refusals else None) or (posts.site if posts else None)
        return posts.site

    @property
    def hidden(self) -> bool:
        """Say whether there is more of it that the key does not see."""
        return any(one is not None and one.hidden > 0 for one in (self.activity, self.refusals))

    @property
    def refused_numbers(self) -> list[int]:
        """Give the numbers of what was refused and not recorded since."""
        return [] if self.refusals is None else self.refusals.numbers

    @property
    def differences(self) -> list[timedelta]:
        """Give receipt minus sending of the newest messages that state a clock, the newest first.

        A message has one receipt, be it that some of its events were recorded and others refused.
        """
        stated: dict[datetime, datetime] = {}
        for one in (self.posts, self.refusals):
            for received, sent in zip(one.received, one.sent, strict=True) if one is not None else ():
                stated[received] = max(sent, stated.get(received, sent))
        return [received - stated[received] for received in sorted(stated, reverse=True)[:SAMPLES]]

    def _contacts(self) -> list[datetime]:
        one = self.refusals
        return [] if one is None else [moment for moment in (one.first_contact, one.last_contact) if moment is not None]


async def heard(question: Question, names: Iterable[str]) -> list[Heard]:
    """Tell of devices, in their order, of those that the key sees anything of."""
    names, conn, organisation = list(names), question.conn, question.organisation
    until, known_at, sites = question.judged_to, question.known_at, question.reach
    activity = {one.device: one for one in await device_activity(conn, organisation, names, until=until, sites=sites)}
    refusals = await device_refusals(
        conn, organisation, names, until=until, known_at=known_at, sites=sites, samples=SAMPLES
    )
    posts = await device_posts(conn, organisation, activity, until=until, sites=sites, newest=NEWEST, samples=SAMPLES)
    every = [
        Heard(device=name, activity=activity.get(name), posts=posts.get(name), refusals=refusals.get(name))
        for name in names
    ]
    return [one for one in every if one.is_seen]
