"""What the service sends by itself: the message of a webhook, as OpenAPI 3.1 describes it under `webhooks`."""

from typing import Any, Final

from service.domain.webhook import KIND_PATTERN
from service.http.describing.plain_schemas import plain
from service.http.describing.schemas import refer
from service.http.describing.tags import tag_of
from service.pushing.cloud_event import PLACES

Json = dict[str, Any]

MEDIA: Final = "application/cloudevents+json"
INSTANT: Final = {"type": "string", "format": "date-time"}
NAME: Final = "CloudEvent"
EVENT: Final[Json] = {
    "title": NAME,
    "description": "An event on its way to a receiver: CloudEvents 1.0.2, structured JSON.",
    "type": "object",
    "properties": {
        "specversion": {"description": "The version of CloudEvents.", "type": "string", "enum": ["1.0"]},
        "id": {"description": "The event's id, and its `webhook-id`.", "type": "string", "format": "uuid"},
        "source": {
            "description": "Whose log it is: the organisation. With `id` it names the event for good.",
            "type": "string",
            "pattern": "^urn:uuid:[0-9a-f-]{36}$",
            "maxLength": 45,
        },
        "type": {
            "description": "The kind of event and its version, as `respirator-ledger.checked.v1`.",
            "type": "string",
            "pattern": rf"^respirator-ledger\.{KIND_PATTERN.removeprefix('^').partition('$')[0]}\.v[0-9]+$",
            "maxLength": 100,
        },
        "subject": {
            "description": "What it is about first of all, as `asset:FX-0142`.",
            "type": "string",
            "pattern": "^[a-z]+:.+$",
            "maxLength": 300,
        },
        "time": {"description": "When it happened; left out where that is a day alone.", **INSTANT},
        "recordedtime": {"description": "When it was recorded (UTC).", **INSTANT},
        "sequence": {
            "description": "Its place in the log, in digits that order as text.",
            "type": "string",
            "pattern": f"^[0-9]{{{PLACES}}}$",
            "maxLength": PLACES,
        },
        "datacontenttype": {"description": "The form of `data`.", "type": "string", "enum": ["application/json"]},
        "data": {"description": "The event as the feed shows it.", **refer("RecordedEvent")},
    },
    "required": ["specversion", "id", "source", "type", "recordedtime", "sequence", "datacontenttype", "data"],
}


def header(name: str, description: str, pattern: str, example: str) -> Json:
    """Describe a header of a message."""
    schema = {"type": "string", "pattern": pattern, "maxLength": 500}
    return {
        "name": name,
        "in": "header",
        "required": True,
        "description": description,
        "schema": schema,
        "example": example,
    }


HEADERS: Final = [
    header(
        "webhook-id",
        "The event's id, the same in every attempt: what came twice is known by it.",
        "^[0-9a-f-]{36}$",
        "0198c1f2-7a10-7c3e-9b55-3f1d2ab40c01",
    ),
    header("webhook-timestamp", "The moment of the attempt, in seconds since 1970.", "^[0-9]+$", "1772430702"),
    header(
        "webhook-signature",
        "`v1,` and the HMAC-SHA-256 in base64 of `id.timestamp.body`; up to four while secrets are changed over.",
        "^v1,[A-Za-z0-9+/=]{44}( v1,[A-Za-z0-9+/=]{44}){0,3}$",
        "v1,g0hM9SsE+OTPJTGt/tmIKtSyZlE3uFJELVlNIOLJ1OE=",
    ),
]
SCHEMAS: Final = {NAME: plain(EVENT)}
WEBHOOKS: Final[Json] = {
    "event": {
        "post": {
            "operationId": "receive_event",
            "summary": "An event that a webhook asks for",
            "description": "Posted to the address of a webhook, signed as Standard Webhooks 1.0.0 has it.",
            "tags": [tag_of("/v1/webhooks")],
            "parameters": HEADERS,
            "security": [],
            "requestBody": {
                "description": "One event.",
                "required": True,
                "content": {MEDIA: {"schema": refer(NAME)}},
            },
            "responses": {
                "2XX": {"description": "It was taken."},
                "410": {"description": "Nothing is to be sent here any more: the webhook is disabled."},
                "default": {"description": "It was not taken, and is sent again."},
            },
        }
    }
}
