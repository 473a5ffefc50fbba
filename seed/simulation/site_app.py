"""A site app: a device with a queue, that sends every message until it is acknowledged."""

import asyncio
from collections.abc import Iterator, Mapping, Sequence
from datetime import UTC, datetime
from itertools import islice

import msgspec

from seed.adverse import adverse
from seed.dice import Dice
from seed.simulation.devices import FAR_AHEAD, Device, Taken
from seed.simulation.journal import Acknowledged, Journal
from seed.simulation.wire import COME_BACK, OK, PAUSE_SECONDS, Form, Result, Wire

RECORDED = frozenset({OK, 201})
IN_THE_FUTURE = 422
ONCE_MORE, LONG_AFTER, HUNG_UP = 0.06, 0.03, 0.1
PARCELS = (1, 2, 5, 20, 100, 300)
"""How many messages may travel together."""


class Parcel(msgspec.Struct, frozen=True):
    """Messages that travel together, with the key of one role."""

    role: str
    form: Form
    messages: tuple[Taken, ...]


class SiteApp:
    """One device on line. `keys` has its key for each role that somebody signs on to it with.

    What waits for something that another device has still to bring is put aside, and sent again with what comes next.
    """

    def __init__(
        self, device: Device, wire: Wire, keys: Mapping[str, str], dice: Dice, faults: frozenset[str], journal: Journal
    ) -> None:
        self._device, self._wire, self._keys = device, wire, keys
        self._dice, self._faults, self._journal = dice, faults, journal
        self._told: list[Taken] = []
        self._is_set = not device.runs_ahead
        self.aside: list[Taken] = []

    async def deliver(self, fresh: Sequence[Taken], *, singly: bool = False) -> None:
        """Send what is new and what was put aside, and as its faults have it something again."""
        if fresh and not self._is_set:
            await self._send_ahead(fresh)
        queue, self.aside = [*self.aside, *fresh], []
        if "duplicate" in self._faults:
            queue += [one for one in queue if self._dice.happens(ONCE_MORE)]
            queue += [one for one in self._told if self._dice.happens(LONG_AFTER)]
        if "reorder" in self._faults:
            self._dice.shuffle(queue)
        for parcel in self._parcels(queue, singly=singly):
            await self._send(parcel)

    def _parcels(self, queue: Sequence[Taken], *, singly: bool) -> Iterator[Parcel]:
        """Pack the queue, in its order for each role."""
        for role in dict.fromkeys(one.role for one in queue):
            left = iter([one for one in queue if one.role == role])
            while messages := tuple(islice(left, 1 if singly else self._dice.choice(PARCELS))):
                forms: tuple[Form, ...] = ("array", "lines") if len(messages) > 1 else ("alone", "alone", "array")
                yield Parcel(role, "alone" if singly else self._dice.choice(forms), messages)

    async def _send(self, parcel: Parcel) -> None:
        """Send a parcel until all of it is acknowledged, refused, or has to wait."""
        key, left = self._keys[parcel.role], list(parcel.messages)
        while left:
            bodies = [one.message for one in left]
            if "cut" in self._faults and self._dice.happens(HUNG_UP):
                await self._wire.hang_up(self._device, key, bodies, parcel.form)
            results = await self._wire.post(self._device, key, bodies, parcel.form)
            pairs = zip(left, results, strict=True)
            left = [one for one, result in pairs if result is None or not self._settled(one, result)]
            if left and any(results):
                await asyncio.sleep(PAUSE_SECONDS)

    async def _send_ahead(self, fresh: Sequence[Taken]) -> None:
        """Send what is new by a clock that runs far ahead, and have it refused; then somebody sets the clock.

        Bad news is kept for the right clock: refused, it would withdraw its unit until a person looks into it.
        """
        self._is_set = True
        fast = msgspec.structs.replace(self._device, ahead=int(FAR_AHEAD.total_seconds()))
        good = [one for one in fresh if not adverse(one.message) and "until" not in one.message]
        for role in dict.fromkeys(one.role for one in good):
            left = [one for one in good if one.role == role][: max(PARCELS)]
            while left:
                shown = {"occurred_at": fast.shows(datetime.now(UTC)).isoformat()}
                bodies = [one.message | shown for one in left]
                results = await self._wire.post(fast, self._keys[role], bodies, "array")
                for one, result in zip(left, results, strict=True):
                    if result is not None and result.status == IN_THE_FUTURE:
                        self._journal.refused[one.id] = self._device.name
                    elif result is not None:
                        self._journal.differ(f"event {one.id}: stamped far ahead, answered with {result.status}")
                left = [one for one, result in zip(left, results, strict=True) if result is None]

    def _settled(self, one: Taken, result: Result) -> bool:
        """Take a result in; say whether the message need not be sent again at once."""
        if result.status in RECORDED:
            told = Acknowledged(result.seq, result.recorded_at)
            self._journal.acknowledge(one.id, told, repeated=result.outcome == "repeated")
            self._told.append(one)
            return True
        if result.problem is not None and result.problem.waits:
            self._journal.counts["waited"] += 1
            self.aside.append(one)
            return True
        if result.status in COME_BACK:
            return False
        said = "" if result.problem is None else result.problem.detail
        self._journal.differ(f"event {one.id} ({one.message['kind']}): refused with {result.status}: {said}")
        return True
