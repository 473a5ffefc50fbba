"""What the oracle is given: accepted messages with the data of their receipt, and reports not accepted."""

from dataclasses import dataclass
from datetime import datetime
from typing import Any

Message = dict[str, Any]


@dataclass(frozen=True)
class Record:
    """An accepted message. Instants are aware; `role` and `sites` (None: every site) are those of the key."""

    message: Message
    seq: int
    received_at: datetime
    recorded_at: datetime
    sent_at: datetime | None = None
    key: str = "office"
    imported: bool = False
    role: str = "administrator"
    sites: frozenset[str] | None = None

    @property
    def kind(self) -> str:
        """Name the kind of the event."""
        return str(self.message["kind"])

    @property
    def id(self) -> str:
        """Give the sender's id, in lower case."""
        return str(self.message["id"]).lower()

    @property
    def by(self) -> str:
        """Name the person who says so."""
        return str(self.message["by"])


@dataclass(frozen=True)
class Report:
    """A report of a failure that could not be accepted; it speaks until it is settled."""

    tag: str
    received_at: datetime
    settled_at: datetime | None = None
