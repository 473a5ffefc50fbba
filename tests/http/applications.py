"""Applications for services that tests start: one that has ended is wired anew, since making one takes long.

What an application knows of a service it learns as it starts, so none knows anything of one before it.
"""

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from service.app import Wiring, create_app

ENDED: list[Any] = []


@contextmanager
def application(wiring: Wiring) -> Iterator[Any]:
    """Give an application that nobody else uses; one that fails is used no more."""
    app = ENDED.pop() if ENDED else create_app(wiring)
    app.state.wiring = wiring
    yield app
    ENDED.append(app)
