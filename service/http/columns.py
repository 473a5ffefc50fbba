"""The columns of each list where it is asked for as a table; new ones are added at the end."""

from service.domain.rules import RULES
from service.http.tables import REST

UNIT = (
    *("tag", "model", "serial", "site", "phase", "in_scope", "standing", "do_not_use", "reasons", "since"),
    *(f"rules.{rule.name}" for rule in RULES),
    *("as_at", "known_at", "projection"),
)
HOLDER = tuple(f"holder.{name}" for name in ("person", "crew", "vehicle", "place"))
UNIT_NOW = (*UNIT, "use", *HOLDER, "due")
EVENT = (
    *("seq", "kind", "occurred_at", "occurred_on", "by", "site", "asset", "device", "device_seq"),
    *("received_at", "recorded_at", "id", "conflicts", "voided_by", REST, "time_doubts"),
)
DEVICE = (
    *("device", "sites", "events", "first_contact", "last_contact", "last_event_at"),
    *(f"counter.{name}" for name in ("first", "last", "missing_count", "missing", "repeats", "resets")),
    *(f"clock.{name}" for name in ("offset_seconds", "samples", "tolerance_seconds", "suspect")),
    *(f"lateness.{name}" for name in ("median_seconds", "p95_seconds", "max_seconds")),
    *("refused", "counter.refused_count", "counter.refused"),
)
REJECTED = (
    *("rejected", "state", "received_at", "last_received_at", "count", "event", "kind", "asset", "site", "adverse"),
    *("waiting_for", "problem.type", "problem.title", "problem.detail", "settled_at", "reason", "accepted_seq", "kept"),
)
WEBHOOK = (
    *("webhook", "url", "purpose", "kinds", "site", "subject", "state", "reason", "sites", "key", "created_at"),
    "old_secret_until",
    *(f"progress.{name}" for name in ("passed", "waiting", "dead", "delivered_at", "failing_since", "rests_until")),
)
DELIVERY = (
    *("webhook", "seq", "event", "state", "attempts", "first_at", "last_at", "next_at", "status", "error"),
    "milliseconds",
)
EXCEPTION = (
    *("row", "site", "asset", "person", "at", "severity", "reason", "reasons", "next", "because"),
    *("acknowledged.by", "acknowledged.at", "acknowledged.reason", "item"),
)
COUNT = (
    *("report", "about", "line", "site", "rows", "open"),
    *("as_at", "known_at", "judged_to", "rules_to", "projection"),
)

RECALL = (
    *("recall", "action", "due_on", "rehearsal", "opened_at", "closed_at", "voided_at", "notice", "criteria"),
    *("as_at", "known_at", "projection", "openings"),
)
RECALL_UNIT = (
    *("recall.recall", "asset", "unit", "serial", "host", "site", "model", "phase", "standing", "do_not_use"),
    *("affected", "certain", "outstanding", "action", "due_on", "last_spoken_at", "located_at", "stopped_at"),
    *("put_away_at", "remedied_at"),
    *("reason", "sittings", "hands", "wearers", "as_at", "known_at", "projection", "asks"),
)
REORDER = (
    *(
        "id",
        "site",
        "item",
        "name",
        "unit",
        "state",
        "quantity",
        "cost.amount",
        "cost.currency",
        "transfers",
        "because",
    ),
    *(f"arithmetic.{name}" for name in ("lead_days", "lead_from", "lead_variance", "look_days", "protected_days")),
    *(f"arithmetic.use_from.{name}" for name in ("unforeseen", "foretold", "changes", "recalled")),
    *(f"arithmetic.{name}" for name in ("use_mean", "use_variance", "family", "level", "reorder_point")),
    *(f"arithmetic.{name}" for name in ("order_days", "use_between", "order_up_to", "fill_rate", "in_stock")),
    *(f"arithmetic.{name}" for name in ("in_other_units", "recalled", "expiring", "on_order")),
    *(f"arithmetic.late.{name}" for name in ("quantity", "since")),
    *(f"arithmetic.{name}" for name in ("owed", "position", "wanted", "transferred", "pack_size", "minimum_order")),
    *(f"arithmetic.{name}" for name in ("rounded", "usable")),
    *("arithmetic.limits", "forecast", "condition", "approval.by", "approval.at", "approval.quantity"),
    *("approval.within_cap", "order.order", "order.state", "order.supplier", "order.expected_on"),
    *("order.overdue_since", "order.placed.at"),
    *("order.lines", "other_orders"),
)

RECALL_SITE = (
    *("recall", "site", "units", "affected", "certain", "once", "located", "stopped", "put_away", "remedied"),
    *("outstanding", "missing", "retired", "silent", "people", "as_at", "known_at", "projection"),
)
RECALL_PERSON = (
    *("recall", *HOLDER, "certain", "units", "held_seconds", "times_worn", "worn_seconds", "first", "last"),
    *("as_at", "known_at", "projection"),
)
RECALL_STOCK = (
    *("recall", "site", "item", "lot", "expires", "quantity", "unit", "certain"),
    *("as_at", "known_at", "projection"),
)
STOCK = (
    *("site", "item", "name", "unit", "quantity", "short", "oldest_expiry", "last_counted_at", "lots"),
    *("as_at", "known_at", "projection"),
)
STOCK_ENTRY = (
    *("site", "item", "name", "seq", "event", "at", "what", "lot", "expires", "place", "from_site", "to_site", "unit"),
    *("quantity", "change", "balance", "short", "explains.expected", "explains.found", "explains.difference", "lots"),
    *("as_at", "known_at", "projection"),
)
CONSUMPTION = (
    *("site", "item", "name", "unit", "from", "to", "used", "discarded"),
    *("as_at", "known_at", "projection"),
)


def _defined(*said: str) -> tuple[str, ...]:
    return ("seq", *said, "effective_from", "by", "occurred_at", "occurred_on", "recorded_at", "id", REST)


DEFINITIONS = {
    "sites": _defined(
        *("site", "name", "region", "profile", "time_zone"),
        *("employer.name", "employer.address", "opened_on", "closed_on"),
    ),
    "models": _defined(
        *("model", "name", "maker", "device", "fit", "approvals", "minimum_flow_lpm", "service_life_months")
    ),
    "items": _defined(
        *("item", "name", "fit", "size", "gtin", "part_number", "unit", "pack_size", "minimum_order"),
        *("shelf_life_months", "lead_time_days", "price", "currency"),
    ),
    "tasks": _defined("task", "name", "substances", "oxygen", "space", "floor_factor", "worn_fraction", "hours"),
    "policies": _defined("policy", "scope.site", "scope.model", "values"),
    "instruments": _defined("instrument", "name", "measures", "calibrated_on", "calibration_due"),
}
"""Of each sort of reference data, by its word in the address; what is told deeper stands in the last column."""
