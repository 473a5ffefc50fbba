"""Write the golden file of every kind and version that has none yet: `python -m tests.golden.write`.

A golden file is never written anew: it says what the log of every installation already holds. A kind whose fields
change in a way that alters its file needs a new version and an upcaster.
"""

import json
from datetime import UTC, datetime
from pathlib import Path
from typing import Any
from uuid import UUID

import msgspec

from service.domain.codec import decode, encode, seal
from service.domain.event import Event
from service.domain.kinds import KINDS
from service.domain.leaf import Header, header_bytes, leaf_hash

FOLDER = Path(__file__).parent
KEY = bytes(range(32))
HEADER = Header(
    organisation=UUID("0198c1f2-0000-7000-8000-000000000001"),
    seq=48211,
    recorded_at=datetime(2026, 3, 2, 5, 51, 42, 500_001, tzinfo=UTC),
    received_at=datetime(2026, 3, 2, 5, 51, 42, 250_000, tzinfo=UTC),
    sent_at=datetime(2026, 3, 2, 5, 51, 41, tzinfo=UTC),
    key=UUID("0198c1f2-0000-7000-8000-000000000002"),
    kind_version=1,
    imported=False,
)


def golden(kind: type[Event]) -> dict[str, Any]:
    """Give what a file holds: a posted message, the free text taken out of it, the stored body, the leaf's input."""
    sealed, texts = seal(decode(msgspec.json.encode(kind.example)), KEY)
    header = msgspec.structs.replace(HEADER, kind_version=kind.version)
    body = encode(sealed)
    return {
        "posted": kind.example,
        "key": KEY.hex(),
        "texts": texts,
        "body": body.decode(),
        "header": msgspec.to_builtins(header),
        "leaf_input": (header_bytes(header) + body).hex(),
        "leaf": leaf_hash(header, body).hex(),
    }


def path_of(kind: type[Event], version: int, folder: Path = FOLDER) -> Path:
    """Give the place of a kind's golden file."""
    return folder / f"{kind.kind}.v{version}.json"


def write_missing(folder: Path = FOLDER) -> list[Path]:
    """Write the files that are not there, and name them."""
    missing = [(kind, path_of(kind, kind.version, folder)) for kind in KINDS]
    new = [(kind, path) for kind, path in missing if not path.exists()]
    for kind, path in new:
        path.write_text(json.dumps(golden(kind), indent=1, ensure_ascii=False) + "\n", encoding="utf-8")
    return [path for _, path in new]


if __name__ == "__main__":
    for written in write_missing():
        print(written.name)  # noqa: T201 -- the command says what it wrote
