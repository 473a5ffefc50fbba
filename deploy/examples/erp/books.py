"""The ERP's own books: its orders, one a proposal, and its webhook; kept in a file, so that a kill loses none."""

import sqlite3
from dataclasses import dataclass
from pathlib import Path

TABLES = """
CREATE TABLE IF NOT EXISTS webhook (id TEXT PRIMARY KEY, secret TEXT NOT NULL);
CREATE TABLE IF NOT EXISTS purchase (
    number INTEGER PRIMARY KEY AUTOINCREMENT, proposal TEXT NOT NULL UNIQUE, site TEXT NOT NULL, item TEXT NOT NULL,
    unit TEXT NOT NULL, quantity REAL NOT NULL, closed INTEGER NOT NULL DEFAULT 0);
"""


@dataclass(frozen=True)
class Purchase:
    """An order: its place in the books, what it is for, and whether it is done with."""

    number: int
    proposal: str
    site: str
    item: str
    unit: str
    quantity: float
    closed: bool

    @property
    def order(self) -> str:
        """Give the number that the supplier and the service know it by."""
        return f"EX-{self.number:05d}"


class Books:
    """The books, kept in a file. What is written is there before a method returns."""

    def __init__(self, file: Path) -> None:
        self._db = sqlite3.connect(file, check_same_thread=False, isolation_level=None)
        self._db.executescript(TABLES)

    def webhook(self) -> tuple[str, str] | None:
        """Give the webhook and its secret, if one was made."""
        row = self._db.execute("SELECT id, secret FROM webhook").fetchone()
        return None if row is None else (row[0], row[1])

    def keep_webhook(self, name: str, secret: str) -> None:
        """Write down the webhook; its secret is told this once."""
        self._db.execute("INSERT OR REPLACE INTO webhook VALUES (?, ?)", (name, secret))

    def purchase(self, proposal: str, site: str, item: str, unit: str, quantity: float) -> Purchase:
        """Give the order of a proposal: the one there is, else a new one with the next number."""
        self._db.execute(
            "INSERT OR IGNORE INTO purchase (proposal, site, item, unit, quantity) VALUES (?, ?, ?, ?, ?)",
            (proposal, site, item, unit, quantity),
        )
        row = self._db.execute("SELECT * FROM purchase WHERE proposal = ?", (proposal,)).fetchone()
        return _purchase(row)

    def open(self) -> list[Purchase]:
        """Give the orders that are not done with."""
        return [_purchase(row) for row in self._db.execute("SELECT * FROM purchase WHERE NOT closed ORDER BY number")]

    def close(self, purchase: Purchase) -> None:
        """Be done with an order."""
        self._db.execute("UPDATE purchase SET closed = 1 WHERE number = ?", (purchase.number,))


def _purchase(row: tuple[int, str, str, str, str, float, int]) -> Purchase:
    number, proposal, site, item, unit, quantity, closed = row
    return Purchase(number, proposal, site, item, unit, quantity, bool(closed))
