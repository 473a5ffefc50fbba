"""Folds what the oracle is given with the service's own domain, and shows it in the oracle's form."""

from collections.abc import Iterable, Sequence
from datetime import datetime
from typing import Any
from uuid import NAMESPACE_OID, UUID, uuid5

import msgspec

from service.domain import kin
from service.domain.codec import decode
from service.domain.context import world_of
from service.domain.event import AssetEvent
from service.domain.recorded import Recorded
from service.domain.view import at_moment, shown
from service.domain.world import KeyHolder, World
from tests.oracle.record import Record, Report

PART = ("position", "item", "lot", "fitted_at")
ORGANISATION = UUID(int=7)


def key_of(name: str) -> UUID:
    """Give the key a name stands for."""
    return uuid5(NAMESPACE_OID, name)


def recorded(records: Iterable[Record]) -> list[Recorded]:
    """Give the rows of the log, each with whether its device's counter is contradicted."""
    rows = [
        Recorded(
            event=msgspec.structs.replace(decode(msgspec.json.encode(record.message)), sent_at=None),
            organisation=ORGANISATION,
            seq=record.seq,
            received_at=record.received_at,
            recorded_at=record.recorded_at,
            sent_at=record.sent_at,
            key=key_of(record.key),
            imported=record.imported,
        )
        for record in records
    ]
    return rows


def keys(records: Iterable[Record]) -> dict[UUID, KeyHolder]:
    """Give what each key is bound to."""
    return {key_of(record.key): KeyHolder(record.role, record.sites) for record in records}  # type: ignore[arg-type]


def world(rows: Sequence[Recorded], holders: dict[UUID, KeyHolder]) -> World:
    """Build the world from the context events and the voidings."""
    return world_of([row for row in rows if not isinstance(row.event, AssetEvent)], holders)


def contradicted(rows: Sequence[Recorded], there: World) -> list[Recorded]:
    """Mark bad news whose device's counter another event of the device contradicts by more than the tolerance."""

    def suspect(row: Recorded) -> bool:
        event = row.event
        if event.device_seq is None or event.occurred_at is None or event.device is None or not event.adverse():
            return False
        tolerance = there.tolerance(event.site or "", row.received_at)
        return any(
            other.event.device == event.device
            and other.event.device_seq is not None
            and other.event.occurred_at is not None
            and (
                (other.event.device_seq < event.device_seq and other.event.occurred_at > event.occurred_at + tolerance)
                or (
                    other.event.device_seq > event.device_seq
                    and other.event.occurred_at < event.occurred_at - tolerance
                )
            )
            for other in rows
        )

    return [msgspec.structs.replace(row, suspect_order=suspect(row)) for row in rows]


def known(records: Iterable[Record], known_at: datetime | None) -> list[Record]:
    """Give the records that had been recorded by the moment."""
    return [record for record in records if known_at is None or record.recorded_at <= known_at]


def folded(records: list[Record], reports: Sequence[Report], known_at: datetime | None) -> tuple[kin.Prepared, World]:
    """Fold everything as one kin, as known at the moment."""
    counted = known(records, known_at)
    rows = recorded(counted)
    there = world(rows, keys(records))
    told = [
        kin.Report(
            uuid5(NAMESPACE_OID, f"report {number}"),
            report.tag,
            report.received_at,
            None if known_at is not None and report.settled_at and report.settled_at > known_at else report.settled_at,
        )
        for number, report in enumerate(reports)
        if known_at is None or report.received_at <= known_at
    ]
    return kin.prepare(contradicted(rows, there), told, there), there


def views(
    records: list[Record], reports: Sequence[Report], as_at: datetime, known_at: datetime | None
) -> dict[str, dict[str, Any]]:
    """Show every unit by its tag at the moment, as known at another."""
    prepared, there = folded(records, reports, known_at)
    found: dict[str, dict[str, Any]] = {}
    for unit in prepared.units:
        if unit.start.at > as_at:
            continue
        seen = shown(at_moment(unit.start, unit.facts, as_at, there))
        seen["parts"] = [{name: part[name] for name in PART} for part in seen["parts"]]
        found[seen["tag"]] = msgspec.json.decode(msgspec.json.encode(seen))
    return found
