"""Units with histories of one length, told as messages: registered, handed out, and checked ever after until now."""

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from uuid import uuid4

from tests.bench.firm import SITES, site_of, tag_of
from tests.http.firm import Message, checked, issued, model, registered, site

LENGTH = 50
APART = timedelta(minutes=40)


def reference() -> list[Message]:
    """Define the sites and the model, before anything happens."""
    stamp = _begun().isoformat()
    return [*(site(site_of(number), occurred_at=stamp) for number in range(SITES)), model(occurred_at=stamp)]


def histories(units: int) -> Iterator[list[Message]]:
    """Tell of one unit after another, each with so many events."""
    for number in range(units):
        tag, place, begun = tag_of(number), site_of(number), _begun() + APART
        stamp = begun.isoformat()
        yield [
            registered(tag, site=place, occurred_at=stamp),
            issued(tag, site=place, occurred_at=stamp),
            *(
                checked(tag, id=str(uuid4()), site=place, occurred_at=(begun + APART * (nth + 1)).isoformat())
                for nth in range(LENGTH - 2)
            ),
        ]


def _begun() -> datetime:
    return datetime.now(UTC) - APART * (LENGTH + 1)
