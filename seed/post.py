"""From the book to the post: counters, offline spells, wrong clocks, papers typed late, repeats and slips.

Messages are numbered by their device as they are written, and delivered in that order when the device is on line.
"""

from collections import defaultdict
from datetime import datetime, timedelta
from operator import attrgetter

from seed.book import Entry, Message
from seed.clocks import wrong_clocks
from seed.delivery import Delivery
from seed.dice import Dice
from seed.offline import Offline
from seed.slips import register_late, slips

LIVE = timedelta(days=3)
TYPED_LATE = 0.004
PAPER_KINDS = frozenset({"checked", "cleaned", "examined", "issued", "returned"})


class Devices:
    """All devices: their counters, their clocks, and when each is next on line."""

    def __init__(self, dice: Dice, entries: list[Entry], end: datetime) -> None:
        self._dice = dice
        self._end = end
        self._clocks = wrong_clocks(entries, end)
        self._offline = Offline(dice, entries, end)
        self._counters: defaultdict[str, int] = defaultdict(int)
        self._sent: dict[str, datetime] = {}

    def send(self, entry: Entry) -> Delivery:
        """Send a message: numbered, stamped by its device's clock, when there is a line."""
        if entry.device is None:
            return _delivery(entry, entry.message, entry.at, self._end)
        at = self._offline.online(entry.device, entry.at) + timedelta(seconds=self._dice.between(1, 9))
        at = self._sent[entry.device] = max(min(at, self._end), self._sent.get(entry.device, at))
        self._counters[entry.device] += 1
        message = entry.message | {"device_seq": self._counters[entry.device]}
        ahead = self._clocks.ahead(entry.device, entry.at)
        delivery = _delivery(entry, stamped(message, ahead) if ahead else message, at, self._end)
        if not delivery.imported:
            delivery.clock_ahead = ahead
        return delivery


def deliver(entries: list[Entry], seed: int, end: datetime) -> list[Delivery]:
    """Put everything written by `end` in the order of its arrival, reference data before all else."""
    dice = Dice.named(seed, "post")
    entries = sorted((entry for entry in entries if entry.at <= end), key=attrgetter("at"))
    devices = Devices(dice, entries, end)
    deliveries = []
    for entry in entries:
        typed = entry.message["kind"] in PAPER_KINDS and dice.happens(TYPED_LATE)
        deliveries.append(_typed(dice, entry, end) if typed else devices.send(entry))
    register_late(deliveries)
    deliveries += slips(dice, deliveries)
    return sorted((one for one in deliveries if one.at <= end), key=_arrived)


def _arrived(delivery: Delivery) -> tuple[bool, datetime]:
    return delivery.key_role != "administrator", delivery.at


def _typed(dice: Dice, entry: Entry, end: datetime) -> Delivery:
    """Type a paper up to a month late: no device, no counter."""
    message = {name: value for name, value in entry.message.items() if name != "device"}
    at = min(entry.at + timedelta(hours=dice.uniform(20, 700)), end)
    return _delivery(entry, message, at, end)


def stamped(message: Message, ahead: int) -> Message:
    """Write the moments of a message as a clock that is `ahead` seconds ahead shows them."""
    moments = {
        name: message[name] for name in ("occurred_at", "until") if name in message and "T" in str(message[name])
    }
    shifted = {
        name: (datetime.fromisoformat(str(value)) + timedelta(seconds=ahead)).isoformat()
        for name, value in moments.items()
    }
    return message | shifted


def _delivery(entry: Entry, message: Message, at: datetime, end: datetime) -> Delivery:
    return Delivery(message=message, at=at, key_role=entry.role, site=entry.site, imported=at < end - LIVE)
