"""Run the benchmark and print its table: every line compares two things in one run, on a database of its own.

python -m tests.bench                          all rows
python -m tests.bench posting --units 20000 --count 40000 --processes 2
python -m tests.bench late --history 20000
"""

import argparse
from collections.abc import Iterator
from pathlib import Path

import psycopg

from service.serving import run
from tests.bench.batches import batches
from tests.bench.late import late
from tests.bench.posting import posting
from tests.bench.starting import starting
from tests.databases.clone import Database, cloned, made_template
from tests.databases.cluster import Cluster, started

ROWS = ("posting", "batches", "late", "start")


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
        for row in options.rows or ROWS:
            with cloned(template) as database:
                for line in measured(row, database, server_pid(template.cluster), options):
                    print(line, flush=True)


def asked() -> argparse.Namespace:
    """Read the command line."""
    parser = argparse.ArgumentParser(prog="python -m tests.bench", description=__doc__)
    parser.add_argument("rows", nargs="*", choices=[*ROWS, []], help="rows to measure, else all")
    parser.add_argument("--units", type=int, default=2000)
    parser.add_argument("--count", type=int, default=10_000, help="events of each measurement")
    parser.add_argument("--processes", type=int, default=1, help="processes of each server that is posted to")
    parser.add_argument("--history", type=int, default=20_000, help="events of the unit that gets late ones")
    return parser.parse_args()


def measured(row: str, database: Database, backend: int, options: argparse.Namespace) -> Iterator[str]:
    """Measure one row, and give its lines."""
    units, count = options.units, options.count
    match row:
        case "posting":
            yield from run(posting(database, backend, units=units, count=count, processes=options.processes))
        case "batches":
            yield from (line.told() for line in run(batches(database, units=units, count=count)))
        case "late":
            yield from (line.told() for line in run(late(database, history=options.history, samples=15)))
        case "start":
            yield from (line.told() for line in run(starting(database, units=units, count=count)))


if __name__ == "__main__":
    main()
