"""Which key a kind of message needs. What may live here: kinds and the least role that may post them, as a table."""

LEAD = frozenset(
    {
        "retagged", "released", "retired", "voided", "exception-acknowledged", "stock-moved",
        "trained", "fit-tested", "medically-cleared", "assigned", "authorisation-ended",
    }
)  # fmt: skip
MANAGER = frozenset({"reorder-approved", "order-placed", "order-cancelled", "recall-opened", "recall-closed"})
REFERENCE = frozenset(
    {"site-defined", "model-defined", "item-defined", "task-defined", "policy-set", "instrument-defined"}
)  # fmt: skip


def role_of(kind: str) -> str:
    """Name the least role whose key may post a kind."""
    if kind in REFERENCE:
        return "administrator"
    if kind in MANAGER:
        return "manager"
    return "site-lead" if kind in LEAD else "site-app"
