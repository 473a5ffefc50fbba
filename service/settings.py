"""The settings of a process: one frozen struct, read once from the environment."""

import re
from collections.abc import Mapping
from pathlib import Path

import msgspec

FLAGS = {"yes": True, "no": False}
SHORTEST_KEY = 32
"""Characters of a key that secrets come from: as many as 24 random bytes in base64."""
ADDRESS = re.compile(r"(?=.{1,100}\Z)https://[a-z0-9.-]+(?::[0-9]{1,5})?(?:/[A-Za-z0-9._~-]+)*/?")
DATA = ".respirators"
"""Where the packaged PostgreSQL keeps its data, under the current folder, unless RESPIRATORS_DATA says otherwise."""


class Settings(msgspec.Struct, frozen=True, kw_only=True):
    """What a process is told from outside; names in the environment stand beside the fields.

    Without DATABASE_URL the packaged PostgreSQL is used, and both URLs are filled in once it runs.
    """

    database_url: str | None = None  # DATABASE_URL: the role that serves
    migration_database_url: str | None = None  # MIGRATION_DATABASE_URL: the role that owns the tables
    data: Path = Path(DATA)  # RESPIRATORS_DATA
    host: str = "127.0.0.1"  # RESPIRATORS_HOST
    port: int = 8080  # RESPIRATORS_PORT
    workers: int = 1  # RESPIRATORS_WORKERS: processes that serve
    pool_size: int = 8  # RESPIRATORS_POOL_SIZE: connections to the database, of each process
    requests_a_minute: int = 30_000  # RESPIRATORS_REQUESTS_A_MINUTE: of each key at each process; 0 is any number
    label_address: str | None = None  # RESPIRATORS_LABEL_ADDRESS: what the codes of labels begin with
    webhook_key: str | None = None  # RESPIRATORS_WEBHOOK_KEY: what secrets of webhooks come from; without it none go
    webhook_private: bool = False  # RESPIRATORS_WEBHOOK_PRIVATE: whether they may go to private addresses
    webhook_seconds: int = 20  # RESPIRATORS_WEBHOOK_SECONDS: how long a receiver may take
    drain_seconds: int = 20  # RESPIRATORS_DRAIN_SECONDS: how long requests in flight may take when the service stops


class SettingsError(Exception):
    """A variable of the environment does not hold what it should."""

    def __init__(self, variable: str, text: str, expected: str) -> None:
        super().__init__(f"{variable} is {text!r}, but should be {expected}")


def from_environment(environment: Mapping[str, str]) -> Settings:
    """Read the settings; raises SettingsError naming the variable."""
    return Settings(
        database_url=environment.get("DATABASE_URL") or None,
        migration_database_url=environment.get("MIGRATION_DATABASE_URL") or None,
        data=Path(environment.get("RESPIRATORS_DATA") or DATA),
        host=environment.get("RESPIRATORS_HOST") or "127.0.0.1",
        port=_number(environment, "RESPIRATORS_PORT", 8080, 0, 65535),
        workers=_number(environment, "RESPIRATORS_WORKERS", 1, 1, 64),
        pool_size=_number(environment, "RESPIRATORS_POOL_SIZE", 8, 1, 500),
        requests_a_minute=_number(environment, "RESPIRATORS_REQUESTS_A_MINUTE", 30_000, 0, 100_000_000),
        label_address=_address(environment, "RESPIRATORS_LABEL_ADDRESS"),
        webhook_key=_key(environment, "RESPIRATORS_WEBHOOK_KEY"),
        webhook_private=_flag(environment, "RESPIRATORS_WEBHOOK_PRIVATE"),
        webhook_seconds=_number(environment, "RESPIRATORS_WEBHOOK_SECONDS", 20, 1, 60),
        drain_seconds=_number(environment, "RESPIRATORS_DRAIN_SECONDS", 20, 0, 3600),
    )


def _address(environment: Mapping[str, str], variable: str) -> str | None:
    """Read an https address that more is put behind, short enough for a small code; None where none is set."""
    text = environment.get(variable) or None
    if text is not None and not ADDRESS.fullmatch(text):
        raise SettingsError(variable, text, "an address such as https://id.example.com, up to 100 characters")
    return text and text.rstrip("/")


def _key(environment: Mapping[str, str], variable: str) -> str | None:
    """Read a key long enough to be no guess; the error does not repeat it."""
    text = environment.get(variable) or None
    if text is not None and len(text) < SHORTEST_KEY:
        raise SettingsError(variable, "...", f"at least {SHORTEST_KEY} characters drawn at random")
    return text


def _flag(environment: Mapping[str, str], variable: str) -> bool:
    """Read yes or no; no where nothing is said."""
    text = environment.get(variable) or "no"
    if text not in FLAGS:
        raise SettingsError(variable, text, "yes or no")
    return FLAGS[text]


def _number(environment: Mapping[str, str], variable: str, default: int, least: int, most: int) -> int:
    """Read a whole number within bounds."""
    text = environment.get(variable) or str(default)
    expected = f"a whole number from {least} to {most}"
    try:
        number = int(text)
    except ValueError as failure:
        raise SettingsError(variable, text, expected) from failure
    if not least <= number <= most:
        raise SettingsError(variable, text, expected)
    return number
