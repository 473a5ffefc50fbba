"""A unit as a general-purpose library of event sourcing has it: an aggregate whose events carry what ours carry.

It judges nothing: an event that is folded sets when the unit was last checked, and whether all points passed.
"""

from uuid import NAMESPACE_URL, UUID, uuid5

from eventsourcing.application import Application
from eventsourcing.domain import Aggregate, event
from psycopg.conninfo import conninfo_to_dict
from typing_extensions import override

from tests.http.firm import Message


class Unit(Aggregate):
    """A unit, whose history begins with its registration."""

    @event("Registered")
    def __init__(self, tag: str, said: Message) -> None:
        self.tag = tag
        self.model = said["model"]
        self.holder: Message | None = None
        self.checked_at: str | None = None
        self.passed = False

    @staticmethod
    @override
    def create_id(tag: str, **_: object) -> UUID:
        """Give the id of the unit with this tag, by which it is found."""
        return uuid5(NAMESPACE_URL, tag)

    @event("Issued")
    def issue(self, said: Message) -> None:
        """Hand it to somebody."""
        self.holder = said["holder"]

    @event("Checked")
    def check(self, said: Message) -> None:
        """Check it before use."""
        self.checked_at = said["occurred_at"]
        self.passed = all(result == "pass" for result in said["points"].values())


class Units(Application[UUID]):
    """The units that are stored in a schema."""


def units_of(url: str, schema: str, *, by_function: bool) -> Units:
    """Open the application on a database; the library inserts by statements of its own, or by a function it makes."""
    place = conninfo_to_dict(url)
    names = {"DBNAME": "dbname", "HOST": "host", "PORT": "port", "USER": "user", "PASSWORD": "password"}
    return Units(
        {
            "PERSISTENCE_MODULE": "eventsourcing.postgres",
            **{f"POSTGRES_{name}": str(place[key]) for name, key in names.items() if key in place},
            "POSTGRES_SCHEMA": schema,
            "POSTGRES_POOL_SIZE": "16",
            "POSTGRES_MAX_OVERFLOW": "16",
            "POSTGRES_ENABLE_DB_FUNCTIONS": "yes" if by_function else "no",
        }
    )
