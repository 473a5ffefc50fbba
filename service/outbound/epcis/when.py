"""What every EPCIS event says first: its name, when it happened and was recorded, and that it was taken back."""

from datetime import UTC, datetime, timedelta
from uuid import uuid5

from service.outbound.epcis.act import Act

Json = dict[str, object]

FURTHEST = timedelta(hours=14)
"""The largest offset that EPCIS knows."""


def stamped(act: Act, nth: int) -> Json:
    """Begin the nth event that an act is told by: the first has the id of ours, the others ids made of it."""
    row, at = act.recorded, local(act.at)
    ident = row.event.id if nth == 0 else uuid5(row.event.id, str(nth))
    return {
        "eventID": ident.urn,
        "eventTime": at.isoformat(),
        "eventTimeZoneOffset": offset(at),
        "recordTime": row.recorded_at.astimezone(UTC).isoformat(),
        **_taken_back(act),
    }


def _taken_back(act: Act) -> Json:
    if act.voided_at is None:
        return {}
    return {
        "errorDeclaration": {
            "declarationTime": act.voided_at.astimezone(UTC).isoformat(),
            "reason": "did_not_occur",
        }
    }


def local(at: datetime) -> datetime:
    """Give a moment with an offset that EPCIS can write: whole minutes, at most 14 hours; else in UTC."""
    off = at.utcoffset() or timedelta()
    return at if abs(off) <= FURTHEST and off % timedelta(minutes=1) == timedelta() else at.astimezone(UTC)


def offset(at: datetime) -> str:
    """Write the offset of a moment: "+01:00"."""
    return at.isoformat()[-6:]
