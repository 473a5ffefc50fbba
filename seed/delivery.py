"""A message on its way to the service."""

from datetime import datetime

import msgspec

from seed.book import Message


class Delivery(msgspec.Struct, eq=False, kw_only=True):
    """One message and how it travels.

    `at` is when it reaches the service in the scenario's own time. `imported` messages are posted by the
    administrator's import key; the others by a key of `key_role` at `site`, and state a clock that is `clock_ahead`
    seconds ahead of the true one (behind where negative). `expects` is what the service answers: `recorded`,
    `repeated`, `rejected`, or `waiting` for one that is rejected at first and accepted when its unit is registered.
    """

    message: Message
    at: datetime
    key_role: str
    site: str | None
    imported: bool
    clock_ahead: int = 0
    expects: str = "recorded"
