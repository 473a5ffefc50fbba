"""Webhooks and their deliveries as they are shown; of a secret nothing is."""

from service.store.deliveries import Delivery
from service.store.webhooks import Webhook


def definition(row: Webhook) -> dict[str, object]:
    """Tell what a webhook is: all that changes its version, and nothing else."""
    return {
        "webhook": row.id,
        "url": row.url,
        "purpose": row.purpose,
        "kinds": row.kinds,
        "site": row.site,
        "subject": row.subject,
        "state": row.state,
        "reason": row.reason,
        "sites": row.sites,
        "key": row.key,
        "created_at": row.created_at,
        "old_secret_until": max(row.old_untils, default=None),
    }


def progress(row: Webhook) -> dict[str, object]:
    """Tell how far a webhook is, and how it goes."""
    return {
        "passed": row.passed,
        "waiting": row.waiting,
        "dead": row.dead,
        "delivered_at": row.delivered_at,
        "failing_since": row.failing_since,
        "rests_until": row.rests_until,
    }


def line(row: Delivery) -> dict[str, object]:
    """Tell what became of an event."""
    return {
        "seq": row.seq,
        "event": row.event,
        "state": row.state,
        "attempts": row.attempts,
        "first_at": row.first_at,
        "last_at": row.last_at,
        "next_at": row.next_at,
        "status": row.status,
        "error": row.error,
        "milliseconds": row.milliseconds,
    }
