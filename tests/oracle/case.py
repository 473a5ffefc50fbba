"""A published example of meaning: what is posted, when it is asked, and what must then be true."""

from dataclasses import dataclass, field
from datetime import datetime
from functools import cached_property
from typing import Any

from tests.oracle.firm import FIRM
from tests.oracle.posting import Posted, log, moment
from tests.oracle.record import Record, Report


@dataclass(frozen=True)
class Case:
    """An example. `expect` holds parts of the view by tag; `conflicts` the codes by the label of a message.

    `known_after` counts the messages of `posted` that had been recorded when the question was asked (None: all).
    """

    name: str
    says: str
    posted: list[Posted]
    as_at: str
    expect: dict[str, dict[str, Any]]
    known_after: int | None = None
    base: list[Posted] = field(default_factory=lambda: FIRM)
    conflicts: dict[str, list[str]] = field(default_factory=dict)
    reports: tuple[Report, ...] = ()

    @property
    def messages(self) -> list[Posted]:
        """Give all that is posted, the firm's set-up first."""
        return [*self.base, *self.posted]

    @cached_property
    def records(self) -> list[Record]:
        """Give the log that results."""
        return log(self.messages)

    @property
    def at(self) -> datetime:
        """Give the moment asked about."""
        return moment(self.as_at)

    @property
    def known_at(self) -> datetime | None:
        """Give the moment at which the last message known had been recorded, None for all."""
        return None if self.known_after is None else self.records[len(self.base) + self.known_after - 1].recorded_at

    def id_of(self, label: str) -> str:
        """Give the id of a labelled message."""
        number = next(number for number, one in enumerate(self.messages) if one.label == label)
        return self.records[number].id


def lacks(found: Any, wanted: Any, path: str = "") -> list[str]:
    """List where something wanted is not found: dicts are compared by the names wanted, all else whole."""
    if isinstance(wanted, dict) and isinstance(found, dict):
        return [line for name, value in wanted.items() for line in lacks(found.get(name), value, f"{path}/{name}")]
    return [] if found == wanted else [f"{path}: {found!r}, not {wanted!r}"]
