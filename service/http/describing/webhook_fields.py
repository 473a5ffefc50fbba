"""What each member of answers about webhooks says; what it means elsewhere stands in `answer_fields.py`.

Only sentences may live here.
"""

from itertools import product
from typing import Final

SHAPES: Final = ("Webhook", "WebhookLine", "WebhookMade")
OF_WEBHOOK: Final[dict[str, str]] = {
    "url": "Where events are posted.",
    "purpose": "What it is for, in the words of who made it; null where nothing was said.",
    "kinds": "The kinds of events that are sent; null for all.",
    "site": "The site whose events alone are sent; null where none was asked for.",
    "subject": "What alone events are about; null where nothing was asked for.",
    "state": "`active` sends; `paused` was paused by somebody; `disabled` was stopped by the service.",
    "reason": "Why it was stopped, in words of a list that may grow; put it with state `active` to have it go on where "
    "it was. `failing`: the receiver was away or failing for five days; `gone`: the receiver answered 410; "
    "`key-ended`: the key that it hangs on has ended; `secret-lost`: the service can compute its secret no more, "
    "rotate it; `site-unseen`: it may not see the site that it asks for, put it with another.",
    "sites": "The sites whose events it may see, those of the key that made it; null for all.",
    "key": "The key that it hangs on, by its id: that which made or last changed it.",
    "old_secret_until": "Until when an older secret signs beside the newest (UTC), the last of several; null where "
    "none was to.",
}

WEBHOOK_FIELDS: Final[dict[str, str]] = {
    "webhook": "The webhook's id.",
    "webhooks": "The webhooks, in the order they were made.",
    "created_at": "When it was made (UTC).",
    **{f"{shape}.{name}": OF_WEBHOOK[name] for shape, name in product(SHAPES, OF_WEBHOOK)},
    "secret": "The secret that its messages are signed with, as Standard Webhooks has it. It is shown this once; null "
    "in the answer to a repeat.",
    "WebhookSecret.old_secret_until": "Until when the secret before signs beside the new one (UTC); null where it does "
    "not. One that was to sign longer does.",
    "progress": "How far it is, and how it goes.",
    "passed": "The seq up to which every event was sent once, or is not for it.",
    "waiting": "How many events are to be sent again.",
    "dead": "How many events are sent no more, unless they are replayed: the dead letters.",
    "delivered_at": "When an event was taken last (UTC); null where none was.",
    "failing_since": "Since when the receiver has been away or failing (UTC); null where it last took a message, or "
    "refused one.",
    "rests_until": "Until when nothing is sent, since the receiver was away or asked for it (UTC); null where it does "
    "not rest.",
    "deliveries": "What became of each event, newest first.",
    "Delivery.event": "The event's id, and the `webhook-id` of its messages.",
    "Delivery.state": "`delivered`, `waiting` to be sent again, or `dead`: sent no more, unless it is replayed.",
    "attempts": "How often it was sent since the first time, or since it was replayed.",
    "first_at": "When it was sent first (UTC).",
    "last_at": "When it was sent last (UTC).",
    "next_at": "When it is sent again at the earliest (UTC); null where it is not.",
    "Delivery.status": "The status that was answered last; null where none was.",
    "WebhookTested.status": "The status that was answered; null where none was.",
    "error": "What went wrong, in words of a list that may grow; null where nothing did. `host-not-found`, "
    "`address-refused` (not a public address), `not-connected`, `tls-failed`, `timed-out`, `not-http`, `redirected` "
    "(3xx, never followed), `refused` (4xx, said of this message), `failing` (5xx, 408, 425, 429), `secret-lost` "
    "(nothing to sign with; rotate it), `service-failed` (the fault is the service's own, and stands in its log).",
    "milliseconds": "How many milliseconds the last attempt took.",
    "WebhookTested.event": "The id of the event that was made up for it.",
    "delivered": "Whether it was taken.",
}
