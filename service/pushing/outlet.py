"""What it takes to send: the key that secrets come from, the way out, and how much goes out at a time."""

import asyncio
import time
from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import Final, NamedTuple
from uuid import UUID

import structlog

from service.domain.errors import TooManyTrials
from service.pushing import signing
from service.pushing.cloud_event import MEDIA
from service.pushing.places import Places
from service.pushing.secret import derived, mark_of
from service.pushing.sending import Answered, Way, post
from service.pushing.target import BadTarget, target_of
from service.store.lease_webhook import Leased
from service.store.webhooks import Webhook

AT_ONCE: Final = 64
"""How many messages of webhooks a process has on their way at the same time; a slow receiver takes the place of one."""
OF_ONE: Final = 8
"""How many of them are one organisation's."""
TRIALS: Final = 16
"""How many trials of receivers a process has on their way beside them."""
TRIALS_OF_ONE: Final = 2
"""How many of them are one organisation's."""
PATIENCE: Final = 5.0
"""Seconds that whoever tries a receiver waits for other trials to end."""

log = structlog.get_logger()


class Sent(NamedTuple):
    """What came of an attempt, and how many milliseconds it took."""

    answered: Answered
    milliseconds: int


class Outlet:
    """What this process sends with; without a key it sends nothing."""

    def __init__(self, key: str | None, way: Way) -> None:
        self.key = None if key is None else key.encode()
        self.way = way
        self.places = Places(AT_ONCE, OF_ONE)
        self._trials = Places(TRIALS, TRIALS_OF_ONE)

    def secrets(self, organisation: UUID, webhook: Webhook | Leased, now: datetime) -> list[bytes]:
        """Give the secrets that sign now, the newest first; none where the key is not the one they came from."""
        if self.key is None:
            return []
        secret = derived(self.key, organisation, webhook.id, webhook.salt)
        if mark_of(secret) != webhook.mark:
            return []
        old = zip(webhook.old_salts, webhook.old_untils, strict=True)
        return [secret, *(derived(self.key, organisation, webhook.id, salt) for salt, until in old if until > now)]

    async def send(self, organisation: UUID, url: str, secrets: Sequence[bytes], name: str, body: bytes) -> Sent:
        """Make one attempt; where nothing can be signed, or nothing is sent to the address any more, none is made."""
        started = time.perf_counter()
        if not secrets:
            return Sent(Answered(error="secret-lost"), 0)
        try:
            target = target_of(url, private=self.way.private)
        except BadTarget:
            return Sent(Answered(error="address-refused"), 0)
        try:
            answered = await post(self.way, organisation, target, self._headers(secrets, name, body), body)
        except Exception as error:  # unforeseen: it counts as an attempt, so that nothing is sent again for ever
            whose = {"organisation": str(organisation), "message": name}
            log.error("message not sent", **whose, exc_info=error)  # noqa: TRY400 - told by place and class
            answered = Answered(error="service-failed")
        return Sent(answered, round((time.perf_counter() - started) * 1000))

    async def tried(self, organisation: UUID, url: str, secrets: Sequence[bytes], name: str, body: bytes) -> Sent:
        """Make an attempt that somebody waits for. Raises TooManyTrials where others do not end soon enough."""
        try:
            async with asyncio.timeout(PATIENCE):
                await self._trials.take(organisation)
        except TimeoutError as error:
            raise TooManyTrials(TRIALS_OF_ONE) from error
        try:
            return await self.send(organisation, url, secrets, name, body)
        finally:
            self._trials.give_back(organisation)

    def _headers(self, secrets: Sequence[bytes], name: str, body: bytes) -> Mapping[str, str]:
        """Sign with the moment of the attempt by the clock on the wall: receivers refuse one far from theirs."""
        return {"Content-Type": MEDIA} | signing.headers(secrets, name, int(time.time()), body)
