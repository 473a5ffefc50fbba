"""Define what events refer to: a version of reference data is recorded as the event it is."""

from datetime import datetime
from uuid import uuid4

import msgspec

from service.domain.caller import Caller
from service.domain.errors import Malformed, NotJson
from service.ledger import Ledger
from service.recording.admission import read
from service.recording.demands import UNSAID
from service.recording.in_turn import record_all
from service.recording.incoming import Incoming, Receipt, Sender
from service.recording.references import DEFINED_BY


async def put_reference(
    ledger: Ledger, caller: Caller, kind: str, ref: str, raw: bytes, expected_version: int | None
) -> Receipt:
    """Record a version of reference data; the event's id, kind and moment are filled in where they are left out.

    `expected_version` is the seq of the version it starts from, 0 for none yet, None if nothing was said. Raises
    PreconditionRequired and VersionMismatch.
    """
    now = ledger.clock()
    message = completed(raw, kind, ref, now)
    sender = Sender(key=caller.key, role=caller.role, sites=caller.sites, received_at=now, sent_at=None)
    starts_from = UNSAID if expected_version is None else expected_version
    one = read(Incoming(raw=message, sender=sender, starts_from=starts_from))
    return (await record_all(ledger, caller.organisation, [one]))[0]


def completed(raw: bytes, kind: str, ref: str, now: datetime) -> bytes:
    """Give the posted message that a definition stands for. Raises NotJson or Malformed."""
    try:
        said = msgspec.json.decode(raw, type=dict[str, msgspec.Raw])
    except msgspec.ValidationError as error:
        raise Malformed("", "Send an object: the fields of the definition.") from error
    except (msgspec.DecodeError, UnicodeDecodeError, RecursionError) as error:
        detail = f"The body is no JSON text in UTF-8: {error}"
        raise NotJson(detail) from error
    for field, value in (("kind", DEFINED_BY[kind]), (kind, ref)):
        if bytes(said.setdefault(field, _raw(value))) != bytes(_raw(value)):
            raise Malformed(f"/{field}", f"The address says {value!r}: leave the field out or say the same.")
    said.setdefault("id", _raw(str(uuid4())))
    if "occurred_on" not in said:
        said.setdefault("occurred_at", _raw(now))
    return msgspec.json.encode(said)


def _raw(value: str | datetime) -> msgspec.Raw:
    return msgspec.Raw(msgspec.json.encode(value))
