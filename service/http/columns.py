"""The columns of each list where it is asked for as a table; new ones are added at the end."""

from service.domain.rules import RULES
from service.http.tables import REST

UNIT = (
    *("tag", "model", "serial", "site", "phase", "in_scope", "standing", "do_not_use", "reasons", "since"),
    *(f"rules.{rule.name}" for rule in RULES),
)
EVENT = (
    *("seq", "kind", "occurred_at", "occurred_on", "by", "site", "asset", "device", "device_seq"),
    *("received_at", "recorded_at", "id", "conflicts", "voided_by", REST),
)
REJECTED = (
    *("rejected", "state", "received_at", "last_received_at", "count", "event", "kind", "asset", "site", "adverse"),
    *("waiting_for", "problem.type", "problem.title", "problem.detail", "settled_at", "reason", "accepted_seq"),
)
EXCEPTION = (
    *("row", "site", "asset", "person", "at", "severity", "reason", "reasons", "next", "because"),
    *("acknowledged.by", "acknowledged.at", "acknowledged.reason"),
)
