"""The ledger from nothing: its schema, tables, triggers, row security and functions.

The revision is named for the text of its parts, too: a database that another text made is told apart, and not served.
"""

from pathlib import Path

from alembic import op

revision = "ledger_6f4f6dec"
down_revision = None
branch_labels = None
depends_on = None

PARTS = Path(__file__).parents[1] / "first"


def upgrade() -> None:
    """Run the parts in the order of their names."""
    for part in sorted(PARTS.glob("*.sql")):
        op.get_bind().exec_driver_sql(part.read_text("utf-8"), execution_options={"no_parameters": True})


def downgrade() -> None:
    """Refuse: rows of the log are never deleted."""
    message = "the log is never deleted; restore a backup instead"
    raise RuntimeError(message)
