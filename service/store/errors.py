"""What the store says no to, beside the database's own errors.

StoreError
|-- StaleContext      what a decision rested on has changed: nothing is written, decide again
|-- UnknownRevision   the schema is not the one this code reads and writes
|-- StrangeSchema     the schema was made by a version of this program that none of its migrations starts from
|-- UnsafeRole        a role that could change the log or see every organisation
`-- UnsafeServer      a server that may lose what it has acknowledged, or is too old
"""

from typing import Final

from psycopg import OperationalError
from psycopg.errors import IdleInTransactionSessionTimeout, ReadOnlySqlTransaction

#: Beginnings of SQLSTATE that speak of the moment and not of what was asked: connection lost, statement cancelled,
#: server stopping or starting, too many connections, a lock not had in time, a transaction that another made void, that
#: had to wait for us too long, a replica that records nothing.
PASSING: Final = ("08", "57", "53", "55P03", "40", "25006", "25P03")


#: What says that the database is away: a transaction that it ended since we were still for too long is no
#: OperationalError.
AWAY: Final = (OperationalError, IdleInTransactionSessionTimeout)


def is_passing(error: Exception) -> bool:
    """Say whether the database fails for a reason that passes, so that the same may be asked again."""
    if not isinstance(error, (*AWAY, ReadOnlySqlTransaction)):
        return False
    return error.sqlstate is None or error.sqlstate.startswith(PASSING)


class StoreError(Exception):
    """Anything the store refuses."""


class StaleContext(StoreError):
    """What a decision rested on has changed meanwhile; the transaction is lost, nothing of it was written.

    `reason` is context (reference data, persons, recalls), dependents (a kin has come to hang on what changes), device
    (it has been heard since), reports (of a failure of one of the units), taken (an id), tags (one came to another kin)
    or deadlock.
    """

    def __init__(self, reason: str) -> None:
        super().__init__(f"decided on what has changed meanwhile: {reason}")
        self.reason = reason


class UnknownRevision(StoreError):
    """The schema is not the one this code reads and writes."""

    def __init__(self, found: str | None, needed: str) -> None:
        super().__init__(f"the schema is at revision {found or 'none'}, this code needs {needed}: run the migrations")


class StrangeSchema(StoreError):
    """The schema was made by a version of this program that none of its migrations starts from."""

    def __init__(self, what: str) -> None:
        super().__init__(
            f"the database was made by another version of this program, which this one cannot migrate from ({what}). "
            "Use the version that made it, or start on a new database: another folder with --data, or other URLs"
        )


class UnsafeRole(StoreError):
    """A role that could change the log or see every organisation must not serve."""

    def __init__(self, role: str, why: str) -> None:
        super().__init__(f"role {role} {why}: serve as the app role, and keep the owner for migrations")


class UnsafeServer(StoreError):
    """A server that may lose what it has acknowledged, or is too old."""
