"""What to do about each problem: told on the page that its type addresses."""

ADVICE: dict[str, str] = {
    "not-json": (
        "Send one JSON text in UTF-8: an object for one event, an array of objects for several. What was sent is "
        "kept as a rejected message."
    ),
    "malformed": (
        "Mend each place under `errors` and send the message again, with the same id. What was sent is kept as a "
        "rejected message."
    ),
    "in-the-future": (
        "Set the sender's clock, or state it as `sent_at`, and send the event again once its moment has come."
    ),
    "unknown-reference": (
        "Define what `reference` names, or mend its spelling. Where `waits` is true nothing need be sent again: "
        "the message is accepted by itself when the definition arrives."
    ),
    "unsupported-model": (
        "Keep these units elsewhere for now: the rules that would judge them are not built, and a unit judged by "
        "half would look safe."
    ),
    "policy-refused": "Set a policy within what the clause named allows; a stricter one is always taken.",
    "site-not-allowed": (
        "Post with a key that is bound to the site, or ask an administrator for one. The message is kept for "
        "whoever leads the site."
    ),
    "kind-not-allowed": (
        "Have it posted with a key of a role that `detail` names. The message is kept: who leads the site may retry it."
    ),
    "own-adverse-event": (
        "Have another person, with another key, look at the unit and void the report if it was wrong."
    ),
    "content-clash": "Give new content a new id. To repeat an event, send exactly what was sent first.",
    "tag-taken": "Choose another tag, or retire or retag the unit that has it.",
    "contradicts-history": (
        "Look at the unit: `conflicts` and `reasons` say what stands against it. If it did happen all the same, send "
        "it without `Prefer: handling=strict`: then it is recorded with its conflicts. Nothing of this one is kept."
    ),
    "another-request": (
        "Give each request an `Idempotency-Key` of its own, such as a new UUID. To repeat a request, send exactly what "
        "was sent first."
    ),
    "unauthenticated": "Send `Authorization: Bearer` and a key. Keys are issued by the operator of the service.",
    "invalid-key": "Ask the operator for a new key: this one is mistyped, revoked or expired.",
    "forbidden": (
        "Use a key of a role that `detail` names, or leave out what it says is not for this key. `/openapi.json` lists "
        "beside each address the roles that it answers (`x-roles`); keys are issued by the operator of the service."
    ),
    "not-found": (
        "Mend the name, or use a key that may see it: what a key may not see does not exist for it. `detail` says what "
        "there is, or where it is listed."
    ),
    "bad-parameter": (
        "Mend or leave out what `errors` names; the description of the interface lists what each address takes."
    ),
    "bad-document": (
        "Mend each place under `errors` and send the whole document again: nothing of it was taken. `at` is an "
        "XPath in UBL 2.1, with its usual prefixes whatever the document's are, and a row and a column in a table."
    ),
    "bad-cursor": ("Begin the list anew, without `after`, or go on with the same question that the cursor came from."),
    "not-yet-known": "Ask for a moment of knowledge that has passed, or leave `known_at` out.",
    "too-large": "Send it in parts of at most `limit`. Nothing of this request was taken or kept.",
    "too-deep": "Flatten it: no event needs more levels than `limit`. Nothing of this request was taken or kept.",
    "unsupported-media": (
        "Send `Content-Type: application/json`, or another that `Accept-Post` names, and the body as it is or in one "
        "of the codings that `Accept-Encoding` names."
    ),
    "not-acceptable": "Send `Accept` with one of the forms under `offered`, or leave it out.",
    "quota-exceeded": "Wait for the seconds in `Retry-After`, then go on; send several events in one array.",
    "too-many-waiting": (
        "Share one long poll or stream among all that need the feed, and close those that nobody reads any more."
    ),
    "version-mismatch": (
        "Read the object again, apply the change to what it says now, and send it with the new ETag in `If-Match`. "
        "What is not there yet is created with `If-None-Match: *`."
    ),
    "precondition-required": (
        "Read the object first and send its ETag in `If-Match`; for a new one send `If-None-Match: *`."
    ),
    "already-settled": "Nothing is left to do: read the message to see how it was settled.",
    "not-kept": "Have its sender send it again, or dismiss it with a reason.",
    "recall-not-open": (
        "`state` says why. `closed`: to stop more units, open the recall again with a `recall-opened` of the same "
        "name, or void the `recall-closed`; units not dealt with stay under it meanwhile. `voided`: open a recall for "
        "what is dangerous after all. `rehearsal`: it changes no unit; open a recall in earnest if there is something "
        "to stop."
    ),
    "proposal-state": (
        "Read the proposal: `state` and `order` say what became of it. What is still needed is proposed anew, under a "
        "name of its own; what was recorded by mistake is voided, and then it can be done again."
    ),
    "cannot-be-written": (
        "Read the order as JSON, or mend what `errors` names, by pointers into what is on record of the order: a unit "
        "is a code of UN/ECE Recommendation 20, an item is defined, and all prices are in one currency."
    ),
    "approval-needed": (
        "Have a manager approve the quantity, or order no more than was approved, in quantity and in money, or than is "
        "proposed and the policy `order-cap` allows; then send the same again. An approval is for as much money as its "
        "quantity came to at the item's price then: where the supplier asks for more, a manager orders it, or the "
        "first approval is voided and given anew at the new price."
    ),
    "webhooks-off": (
        "Ask the operator to set `RESPIRATORS_WEBHOOK_KEY`, from which secrets come. Until then read the feed."
    ),
    "too-many-webhooks": "Take away a webhook that nobody needs, or have one send more kinds of events.",
    "too-many-secrets": "Wait until an older secret signs no more. If none but the newest is in use any more, or one "
    "was seen by somebody, rotate with `overlap_hours` 0: the new secret signs alone from then on.",
    "too-many-trials": "Wait until the tests that are on their way have ended, at most the seconds in `Retry-After`, "
    "and send it again. Webhooks go on meanwhile.",
    "webhook-id-taken": "Give the new webhook an id of its own, or leave `id` out. To change one, put at its address.",
    "overloaded": (
        "Keep what you have, and send the same request again after the seconds in `Retry-After`: nothing of it was "
        "taken. Send several events in one array."
    ),
    "position-not-reached": (
        "Ask again after the seconds in `Retry-After`; a position that no answer ever gave does not come. Without "
        "`Ledger-Position` you are answered at once with what is there."
    ),
    "cursor-ahead": (
        "Read the feed from its beginning, without `after` and `Last-Event-ID`, and put it in the place of what you "
        "had: that was another log, or this one before a backup of it was restored. To go on would miss what is new."
    ),
    "unavailable": (
        "Send the same request again after the seconds in `Retry-After`: what was recorded is only repeated."
    ),
    "no-such-address": "Look the address up in `/openapi.json`.",
    "method-not-allowed": "Use one of the methods in `Allow`.",
    "bad-request": "Send a request of HTTP as the description of the interface shows it.",
    "broken-coding": (
        "Send the whole body again, in the coding that `Content-Encoding` says, or without. Windows of zstd may be 8 "
        "MiB wide, so compress with level 19 at most. What a stream had told before it is recorded."
    ),
    "incomplete-body": "Send the whole body again; nothing of it was taken.",
    "internal": "Send the request again; if it fails again, tell the operator the `X-Request-Id`.",
}
