"""What a way to record costs: time, and processor time in this process and in the database."""

from collections.abc import Iterator
from contextlib import contextmanager
from time import perf_counter, process_time

from tests.bench.servers import spent_by_all

HEAD = f"{'who':44}{'a second':>12}{'cpu ms':>10}{'db ms':>10}"


class Watch:
    """Adds up what events took while it ran; `backend` is the database server's pid."""

    def __init__(self, name: str, backend: int) -> None:
        self.name, self.backend = name, backend
        self.events = 0
        self.seconds = self.here = self.there = 0.0

    @contextmanager
    def running(self, events: int) -> Iterator[None]:
        """Watch so many events."""
        here, there, began = process_time(), spent_by_all([self.backend]), perf_counter()
        yield
        self.seconds += perf_counter() - began
        self.here += process_time() - here
        self.there += spent_by_all([self.backend]) - there
        self.events += events

    @property
    def per_second(self) -> float:
        """Give the events in a second."""
        return self.events / self.seconds

    def told(self) -> str:
        """Write the line."""
        here, there = (1e3 * spent / self.events for spent in (self.here, self.there))
        return f"{self.name:44}{self.per_second:>12,.1f}{here:>10.2f}{there:>10.2f}"
