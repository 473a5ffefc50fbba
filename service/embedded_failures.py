"""What can keep the packaged PostgreSQL from running.

EmbeddedFailure
|-- NoBinaries       the package has none for this system
|-- NoAccount        root, and no account to run as
|-- StrangeVersion   the folder was written by another major version
|-- Foreign          a server of somebody else works on the folder
|-- Busy             another process of this program owns the folder
`-- NotStarted       a binary ended instead of doing its work
"""

from pathlib import Path


class EmbeddedFailure(Exception):
    """The packaged PostgreSQL could not be made, started, adopted or stopped."""


class NoBinaries(EmbeddedFailure):
    """The package with the binaries is not there, or has none for this system."""

    def __init__(self, distribution: str, major: str) -> None:
        super().__init__(
            f"no PostgreSQL {major} binaries in the package {distribution}; set DATABASE_URL and "
            "MIGRATION_DATABASE_URL to a PostgreSQL 15 or newer instead"
        )


class NoAccount(EmbeddedFailure):
    """The system has none of the accounts PostgreSQL could run as."""

    def __init__(self, accounts: tuple[str, ...]) -> None:
        super().__init__(f"PostgreSQL does not run as root, and none of the accounts {', '.join(accounts)} exists")


class StrangeVersion(EmbeddedFailure):
    """The folder was written by another major version."""

    def __init__(self, folder: Path, found: str, expected: str) -> None:
        super().__init__(
            f"{folder} was written by PostgreSQL {found}, this package comes with {expected}. Dump it with the release "
            "that wrote it (pg_dump), start this one on a new folder (--data), and restore the dump there."
        )


class Foreign(EmbeddedFailure):
    """A server that this program did not start works on the folder."""

    def __init__(self, folder: Path, pid: int) -> None:
        super().__init__(f"process {pid} serves {folder} and was not started by this program; stop it first")


class Busy(EmbeddedFailure):
    """Another process of this program owns the folder."""

    def __init__(self, data: Path) -> None:
        super().__init__(f"another process of this program already works on {data}")


class NotStarted(EmbeddedFailure):
    """A binary ended instead of doing its work; its last words are the message."""

    def __init__(self, what: str, words: str) -> None:
        super().__init__(f"{what} ended at once:\n{words.strip()[-2000:]}")
