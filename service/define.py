"""Define what events refer to: a version of reference data is recorded as the event it is."""

from datetime import datetime
from typing import Any
from uuid import uuid4

import msgspec

from service.domain.caller import Caller
from service.domain.codec import not_json, refuse_doubled
from service.domain.current import Name
from service.domain.errors import Malformed, Refused
from service.domain.starting import Start
from service.ledger import Ledger
from service.recording.admission import read
from service.recording.in_turn import record_all
from service.recording.incoming import Incoming, Read, Receipt, Sender
from service.recording.references import DEFINED_BY


async def put_reference(ledger: Ledger, caller: Caller, kind: str, name: Name, raw: bytes, start: Start) -> Receipt:
    """Record a version of reference data; the event's id, kind and moment are filled in where they are left out.

    What is no definition is kept as it came, like any message. Raises PreconditionRequired and VersionMismatch.
    """
    now = ledger.clock()
    sender = Sender(key=caller.key, role=caller.role, sites=caller.sites, received_at=now, sent_at=None)
    try:
        one = read(Incoming(raw=completed(raw, kind, name, now), sender=sender, starts_from=start))
    except Refused as error:
        one = Read(incoming=Incoming(raw=raw, sender=sender), refused=error)
    return (await record_all(ledger, caller.organisation, [one]))[0]


def completed(raw: bytes, kind: str, name: Name, now: datetime) -> bytes:
    """Give the posted message that a definition stands for. Raises NotJson or Malformed."""
    refuse_doubled(raw)
    try:
        said = msgspec.json.decode(raw, type=dict[str, msgspec.Raw])
    except msgspec.ValidationError as error:
        raise Malformed("", "Send an object: the fields of the definition.") from error
    except (msgspec.DecodeError, UnicodeDecodeError, RecursionError) as error:
        raise not_json(error) from error
    wrong = [
        (f"/{field}", f"The address says {bytes(_raw(value)).decode()}: leave the field out or say the same.")
        for field, value in _of_the_address(kind, name).items()
        if not _says(said.setdefault(field, _raw(value)), value)
    ]
    if wrong:
        raise Malformed.of(wrong)
    said.setdefault("id", _raw(str(uuid4())))
    if "occurred_on" not in said:
        said.setdefault("occurred_at", _raw(now))
    return msgspec.json.encode(said)


def _of_the_address(kind: str, name: Name) -> dict[str, Any]:
    """Give the fields that the address of a definition says."""
    said: dict[str, Any] = {"kind": DEFINED_BY[kind], kind: name.ref}
    if kind == "policy":
        narrowed = {"site": name.site, "model": name.model}
        said["scope"] = {"organisation": True} | {where: ref for where, ref in narrowed.items() if ref}
    return said


def _says(raw: msgspec.Raw, value: object) -> bool:
    """Say whether a field says what the address does; what is no JSON within it is left to the reader of the whole."""
    try:
        said = msgspec.json.decode(raw)
    except (msgspec.DecodeError, UnicodeDecodeError, RecursionError):
        return True
    return value == ({name: one for name, one in said.items() if one is not None} if isinstance(said, dict) else said)


def _raw(value: object) -> msgspec.Raw:
    return msgspec.Raw(msgspec.json.encode(value))
