"""The book of the year: every message, as it was written, in the order the scenario came upon it."""

from collections.abc import Mapping
from datetime import UTC, datetime

import msgspec

from seed.dice import Dice
from seed.roles import role_of

Message = dict[str, object]


class Entry(msgspec.Struct, eq=False, kw_only=True):
    """One message: the moment it was written (in UTC), by which role's key it travels, and from which device if any."""

    at: datetime
    message: Message
    role: str
    site: str | None
    device: str | None


class Book:
    """Messages with identifiers drawn from the seed."""

    def __init__(self, seed: int) -> None:
        self.entries: list[Entry] = []
        self._dice = Dice.named(seed, "identifiers")

    def write(  # the envelope has these fields
        self, kind: str, at: datetime, by: str, site: str | None, device: str | None, fields: Mapping[str, object]
    ) -> Entry:
        """Write one message down; fields without a value are left out."""
        message: Message = {"id": self._dice.uuid(at), "kind": kind, "occurred_at": at.isoformat(), "by": by}
        if site is not None:
            message["site"] = site
        if device is not None:
            message["device"] = device
        message.update((name, value) for name, value in fields.items() if value is not None)
        entry = Entry(at=at.astimezone(UTC), message=message, role=role_of(kind), site=site, device=device)
        self.entries.append(entry)
        return entry

    def last_id(self) -> str:
        """Give the identifier of the message written last."""
        return str(self.entries[-1].message["id"])
