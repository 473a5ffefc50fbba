"""Keys that were found of late: who posts again and again is not looked up each time.

Only where something is recorded, since the key is looked at again there, in the transaction that records: one that has
been revoked meanwhile records nothing and is answered 401 as ever.
"""

from collections import OrderedDict
from datetime import datetime, timedelta

from service.store.find_key import FoundKey

REMEMBERED = timedelta(seconds=10)
MOST = 10_000


class Keyring:
    """The keys found within the last seconds, by the hash of their secret."""

    def __init__(self) -> None:
        self._found: OrderedDict[bytes, tuple[FoundKey, datetime]] = OrderedDict()

    def find(self, hashed: bytes, now: datetime) -> FoundKey | None:
        """Give the key, if it was found of late."""
        known = self._found.get(hashed)
        return known[0] if known is not None and now < known[1] else None

    def remember(self, hashed: bytes, key: FoundKey, now: datetime) -> None:
        """Keep a key for a while; the one kept longest goes where there are too many."""
        self._found[hashed] = key, now + REMEMBERED
        self._found.move_to_end(hashed)
        if len(self._found) > MOST:
            self._found.popitem(last=False)
