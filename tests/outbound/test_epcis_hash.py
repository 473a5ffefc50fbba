"""Event hash ids (CBV 2.0) by the reference tool: an event that is taken back has the hash it had."""

import re
import subprocess
import sys
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import msgspec

from service.outbound.epcis.document import document
from tests.outbound.acts import NAMES, told

Json = dict[str, Any]

REFERENCE: Json = {
    "@context": [
        "https://ref.gs1.org/standards/epcis/2.0.0/epcis-context.jsonld",
        {"example": "https://ns.example.com/epcis/"},
    ],
    "id": "https://id.example.org/document1",
    "type": "EPCISDocument",
    "schemaVersion": "2.0",
    "creationDate": "2022-02-17T11:30:47.0Z",
    "epcisBody": {
        "eventList": [
            {
                "type": "ObjectEvent",
                "eventTime": "2020-03-04T11:00:30.000+01:00",
                "eventTimeZoneOffset": "+01:00",
                "recordTime": "2020-03-04T11:00:30.999+01:00",
                "epcList": [
                    "urn:epc:id:sscc:4012345.0000000333",
                    "urn:epc:id:sscc:4012345.0000000111",
                    "urn:epc:id:sscc:4012345.0000000222",
                ],
                "action": "OBSERVE",
                "bizStep": "departing",
                "readPoint": {"id": "urn:epc:id:sgln:4012345.00011.987"},
                "example:myField1": {"example:mySubField1": "2", "example:mySubField2": "5"},
                "example:myField2": "0",
                "example:myField3": {"example:mySubField3": ["3", "1"]},
            }
        ]
    },
}
"""RalphTro/epcis-event-hash-generator (MIT), tests/examples/documents/ReferenceEventHashAlgorithm.jsonld."""


def hashes(folder: Path, told_document: Json) -> list[str]:
    """Give the hash ids of a document's events, as the tool's own command tells them."""
    path = folder / "document.jsonld"
    path.write_bytes(msgspec.json.encode(told_document))
    command = [sys.executable, "-m", "epcis_event_hash_generator", "-l", "ERROR", str(path)]
    said = subprocess.run(command, capture_output=True, text=True, check=True, cwd=folder, timeout=120)
    return re.findall(r"^ni:///\S+$", said.stdout, re.MULTILINE)


def test_the_tool_reckons_the_published_vector(tmp_path: Path) -> None:
    """The reference event has the hash that was published with it."""
    digest = "6ae96341e0acc6d7a261364751f60e68278a81cdf51da0abb6b4e617014e39d7"
    assert hashes(tmp_path, REFERENCE) == [f"ni:///sha-256;{digest}?ver=CBV2.0"]


def test_an_event_that_is_taken_back_keeps_its_hash(tmp_path: Path) -> None:
    """Ids, the time of recording and the declaration do not enter a hash; a reading does."""
    moment = datetime(2026, 3, 3, tzinfo=UTC)
    events = [
        *told("checked", outcome="passing"),
        *told("checked", outcome="passing", voided_at=moment),
        *told("checked", {"airflow_lpm": 185.0}, outcome="passing"),
    ]
    plain, taken_back, other = hashes(tmp_path, document(NAMES, moment, events))

    assert plain == taken_back
    assert plain != other
