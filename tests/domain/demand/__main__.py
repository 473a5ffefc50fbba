"""Print what two years of the simulation come to: `python -m tests.domain.demand [--sites N] [--seed N]`."""

import argparse
import sys
from collections.abc import Callable, Iterable

from tests.domain.demand.items import ITEMS
from tests.domain.demand.simulation import LEVEL, SEED, Outcome, Proposing, Rule, run, two_boxes

COLUMNS = f"{'item':<16}{'rule':<12}{'asked':>7}{'given at once':>15}{'expired':>9}{'orders':>8}{'mean stock':>12}"
RULES: dict[str, Callable[[], Rule]] = {"proposals": Proposing, "two boxes": lambda: two_boxes}


def outcomes(sites: int, seed: int = SEED) -> list[Outcome]:
    """Give what becomes of every item under both rules, added up over so many sites."""
    return [
        total(item.name, name, [run(item, name, rule(), seed + site) for site in range(sites)])
        for item in ITEMS
        for name, rule in RULES.items()
    ]


def total(item: str, rule: str, rows: Iterable[Outcome]) -> Outcome:
    """Add up what became of items or sites under a rule."""
    added = [row for row in rows if row.rule == rule]
    sums = (sum(getattr(row, name) for row in added) for name in ("asked", "given", "expired", "orders", "stock"))
    return Outcome(item, rule, *sums)


def told(row: Outcome) -> str:
    """Write a row of the table."""
    return (
        f"{row.item:<16}{row.rule:<12}{row.asked:>7.0f}{row.fill:>15.1%}"
        f"{row.expired:>9.0f}{row.orders:>8}{row.stock:>12.1f}"
    )


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seed", type=int, default=SEED)
    parser.add_argument("--sites", type=int, default=5)
    options = parser.parse_args()
    rows = outcomes(options.sites, options.seed)
    rows += [total("all", rule, rows) for rule in RULES]
    heading = f"{options.sites} sites, two years, looked at weekly, service level {LEVEL:.0%}, seed {options.seed}"
    lines = [heading, COLUMNS, *map(told, rows)]
    sys.stdout.write("\n".join(lines) + "\n")


if __name__ == "__main__":
    main()
