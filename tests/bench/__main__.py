"""Run the benchmark and print its table.

python -m tests.bench                     the rows on posting
python -m tests.bench --units 20000 --count 40000 --processes 2
"""

import argparse
from pathlib import Path

from service.serving import run
from tests.bench.posting import posting
from tests.databases.clone import cloned, made_template
from tests.databases.cluster import Cluster, started


def server_pid(cluster: Cluster) -> int:
    """Give the pid of the packaged server, which stands in its data folder."""
    import psycopg  # noqa: PLC0415

    with psycopg.connect(cluster.url) as conn:
        row = conn.execute("SHOW data_directory").fetchone()
    assert row is not None
    return int((Path(row[0]) / "postmaster.pid").read_text().split()[0])


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--units", type=int, default=2000)
    parser.add_argument("--count", type=int, default=10_000, help="events of each measurement")
    parser.add_argument("--processes", type=int, default=1, help="processes of each server")
    options = parser.parse_args()
    with started() as cluster, made_template(cluster) as template, cloned(template) as database:
        rows = run(
            posting(
                database,
                server_pid(cluster),
                units=options.units,
                count=options.count,
                processes=options.processes,
            )
        )
        print(
            f"{cluster.name}; {options.units:,} units, {options.count:,} posts a line, processes: {options.processes}"
        )
    print(
        f"{'who':24}{'connections':>12}{'a second':>10}{'p50 ms':>8}{'p95 ms':>8}{'p99 ms':>8}{'cpu ms':>8}{'db ms':>8}"
    )
    for row in rows:
        told = row.told
        print(
            f"{row.name:24}{row.connections:>12}{told.per_second:>10.0f}{told.p50:>8.1f}{told.p95:>8.1f}{told.p99:>8.1f}"
            f"{row.service_ms:>8.2f}{row.database_ms:>8.2f}"
        )
    for connections in (32, 128):
        hand, ours = (row.told.per_second for row in rows if row.connections == connections)
        print(f"service / by hand at {connections} connections: {ours / hand:.2f}")


if __name__ == "__main__":
    main()
