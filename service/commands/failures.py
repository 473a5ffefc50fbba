"""What a command may fail with and say in a sentence; anything else is a fault of the program and shows its trace."""


class CommandFailure(Exception):
    """A command could not be carried out, for a reason the person can do something about."""


class OwnerNeeded(CommandFailure):
    """The role that owns the tables is needed, and its URL is not known."""

    def __init__(self) -> None:
        super().__init__("this is done as the owner of the tables: set MIGRATION_DATABASE_URL")


class NoSuchOrganisation(CommandFailure):
    """No organisation, or more than one, has the name."""

    def __init__(self, name: str, names: list[str]) -> None:
        known = ", ".join(names) or "none yet; make one with `organisation create`"
        super().__init__(f"there is no organisation {name!r}. There are: {known}")


class OrganisationExists(CommandFailure):
    """An organisation of that name is there already."""

    def __init__(self, name: str) -> None:
        super().__init__(f"there is an organisation {name!r} already")


class NoSuchKey(CommandFailure):
    """The organisation has no live key with that id."""

    def __init__(self, key: str) -> None:
        super().__init__(f"there is no live key {key}; `key list` shows them")


class NothingToErase(CommandFailure):
    """Nothing of the kind is kept: erased already, or named wrongly."""

    def __init__(self) -> None:
        super().__init__("nothing of that is kept: it was erased before, or never was")


class NotRecorded(CommandFailure):
    """An event of this command was refused."""

    def __init__(self, detail: str) -> None:
        super().__init__(f"the event was not recorded: {detail}")


class ServingUrlNeeded(CommandFailure):
    """Only the owner's URL is known, and nobody serves as the owner."""

    def __init__(self) -> None:
        super().__init__("set DATABASE_URL to the role that serves; MIGRATION_DATABASE_URL alone is not enough")


class KeyNeeded(CommandFailure):
    """A service was to be asked, and no key for it is known."""

    def __init__(self) -> None:
        super().__init__("a key of the service is needed: set RESPIRATORS_KEY")


class NotAnswered(CommandFailure):
    """A running service did not answer as it was asked to."""

    def __init__(self, address: str, detail: str) -> None:
        super().__init__(f"{address}: {detail}")


class NoDemo(CommandFailure):
    """The demo is not on this machine."""

    def __init__(self) -> None:
        super().__init__("the demo does not come with this installation")


class ChildFailed(CommandFailure):
    """A child process of this command failed; its own words stand above."""

    def __init__(self, what: str, code: int) -> None:
        super().__init__(f"{what} failed with exit code {code}; its words are above")


def story(failure: Exception) -> str | None:
    """Give the sentence for a failure that has one."""
    from service.embedded_failures import EmbeddedFailure
    from service.serving import NoPort, NotServed
    from service.settings import SettingsError
    from service.store.errors import AWAY, StoreError

    if isinstance(failure, NotServed):
        return "the service did not start; its log above says why"
    known = (CommandFailure, EmbeddedFailure, NoPort, SettingsError, StoreError, *AWAY)
    return str(failure).strip() if isinstance(failure, known) else None
