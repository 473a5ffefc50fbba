"""What a field or member means, looked up where it stands before what its name means everywhere."""

from collections.abc import Mapping

from service.http.describing.answer_fields import ANSWER_FIELDS
from service.http.describing.event_fields import EVENT_FIELDS
from service.http.describing.order_document_fields import ORDER_DOCUMENT_FIELDS
from service.http.describing.recall_fields import RECALL_FIELDS
from service.http.describing.reference_fields import REFERENCE_FIELDS
from service.http.describing.reorder_fields import REORDER_FIELDS
from service.http.describing.stock_fields import STOCK_FIELDS
from service.http.describing.webhook_fields import WEBHOOK_FIELDS

OF_EVENTS = EVENT_FIELDS | REFERENCE_FIELDS
OF_ANSWERS = ANSWER_FIELDS | RECALL_FIELDS | REORDER_FIELDS | ORDER_DOCUMENT_FIELDS | STOCK_FIELDS | WEBHOOK_FIELDS


def of_event(schema: str, field: str) -> str | None:
    """Say what a field of an event means, or of a part of one."""
    return _found(OF_EVENTS, schema, field)


def of_answer(schema: str, member: str) -> str | None:
    """Say what a member of an answer means."""
    return _found(OF_ANSWERS, schema, member)


def _found(table: Mapping[str, str], schema: str, name: str) -> str | None:
    return table.get(f"{schema}.{name}", table.get(name))
