"""The three classes of tables. A rebuild may throw away the derived ones alone; a backup needs the other two."""

LOG = ("event", "head")
"""What was claimed, in order. Rows never change."""

PRIMARY = (
    *("organisation", "api_key", "person", "free_text", "rejected_message", "failure_report", "given_answer"),
    *("webhook", "webhook_delivery"),
)
"""What no event says and nothing can compute."""

DERIVED = (
    "event_subject",
    "kinship",
    "kin",
    "fold_mark",
    "unit",
    "standing_interval",
    "use_made",
    "finding",
    "stay",
    "dependency",
    "generation",
)
"""What the log means, as last computed."""

REVISION = "ledger_6f4f6dec"
"""The newest revision of `migrations/`: the schema this code reads and writes."""
