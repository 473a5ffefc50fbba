"""Run the benchmark and print its table: every line compares two things in one run, on a database of its own.

python -m tests.bench                          all rows
python -m tests.bench posting --units 20000 --count 40000 --processes 2
python -m tests.bench late --history 20000
python -m tests.bench growth --to 10000000
python -m tests.bench recall --to 1000000
"""

import argparse
from collections.abc import Callable, Coroutine, Sequence
from pathlib import Path
from typing import Any

import msgspec
import psycopg

from service.serving import run
from tests.bench.asgi import asgi
from tests.bench.batches import batches
from tests.bench.campaign import campaign
from tests.bench.comparing import Line
from tests.bench.growth import growth
from tests.bench.late import late
from tests.bench.library import library
from tests.bench.limits import limits
from tests.bench.posting import posting
from tests.bench.recall import recall
from tests.bench.sides import Load
from tests.bench.slow_commit import slow_commit
from tests.bench.starting import starting
from tests.bench.steady import steady
from tests.databases.clone import Database, Template, cloned, made_template
from tests.databases.cluster import Cluster, started


class Bench(msgspec.Struct, frozen=True, kw_only=True):
    """What a row is measured on: a database of its own, the server's administrator, and how much is asked."""

    database: Database
    template: Template
    administrator: str
    load: Load
    history: int
    to: int


ROWS: dict[str, Callable[[Bench], Coroutine[Any, Any, Sequence[str | Line]]]] = {
    "posting": lambda on: posting(on.database, on.load),
    "limits": lambda on: limits(on.database, on.load),
    "slow": lambda on: slow_commit(on.database, on.administrator, on.load),
    "open": lambda on: steady(on.database, on.load),
    "servers": lambda on: asgi(on.database, on.load),
    "batches": lambda on: batches(on.database, units=on.load.units, count=on.load.count),
    "library": lambda on: library(on.database, on.load),
    "late": lambda on: late(on.database, history=on.history, samples=15),
    "growth": lambda on: growth(on.template, count=on.load.count, to=on.to),
    "recall": lambda on: recall(on.database, to=on.to),
    "campaign": lambda on: campaign(on.database, on.load),
    "start": lambda on: starting(on.database, units=on.load.units, count=on.load.count),
}


def server_pid(cluster: Cluster) -> int:
    """Give the pid of the packaged server, which stands in its data folder."""
    with psycopg.connect(cluster.url) as conn:
        row = conn.execute("SHOW data_directory").fetchone()
    assert row is not None
    return int((Path(row[0]) / "postmaster.pid").read_text().split()[0])


def main() -> None:
    """Measure and print."""
    options = asked()
    with started() as cluster, made_template(cluster) as template:
        print(f"{cluster.name}; {options.units:,} units, {options.count:,} events a row, {options.processes} processes")
        load = Load(backend=server_pid(cluster), units=options.units, count=options.count, processes=options.processes)
        for row in options.rows or ROWS:
            with cloned(template) as database:
                bench = Bench(
                    database=database,
                    template=template,
                    administrator=cluster.url,
                    load=load,
                    history=options.history,
                    to=options.to,
                )
                for line in run(ROWS[row](bench)):
                    print(line if isinstance(line, str) else line.told(), flush=True)


def asked() -> argparse.Namespace:
    """Read the command line."""
    parser = argparse.ArgumentParser(prog="python -m tests.bench", description=__doc__)
    parser.add_argument("rows", nargs="*", choices=[*ROWS, []], help="rows to measure, else all")
    parser.add_argument("--units", type=int, default=2000)
    parser.add_argument("--count", type=int, default=10_000, help="events of each measurement")
    parser.add_argument("--processes", type=int, default=1, help="processes of each server that is posted to")
    parser.add_argument("--history", type=int, default=20_000, help="events of the unit that gets late ones")
    parser.add_argument("--to", type=int, default=100_000, help="events up to which growth goes, and which recall has")
    return parser.parse_args()


if __name__ == "__main__":
    main()
