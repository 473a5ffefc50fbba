from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from uuid import UUID

import msgspec
import psycopg
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.domain.leaf import Header, leaf_hash
from tests.databases.clone import Database

# RFC 6962 section 2.1 leaf hashes, as published with the reference implementations: transparency-dev/merkle,
# testonly/constants.go (the same data as the Merkle tree tests of google/certificate-transparency).
VECTORS = [
    ("", "6e340b9cffb37a989ca544e6bb780a2c78901d3fb33738768511a30617afa01d"),
    ("00", "96a296d224f285c67bee93c30f8a309157f0daa35dc5b87e410b78630a09cfc7"),
    ("10", "0298d122906dcfc10892cb53a73992fc5b9f493ea4c9badb27b791b4127a7fe7"),
    ("2021", "07506a85fd9dd2f120eb694f86011e5bb4662e5c415a62917033d4a9624487e7"),
    ("3031", "bc1a0643b12e4d2d7c77918f44e0f4f79a838b6cf9ec5b5c283e1f4d88599e6b"),
    ("40414243", "4271a26be0d8a84f0bd54c8c302e7cb3a3b5d1fa6780a40bcce2873477dab658"),
    ("5051525354555657", "b08693ec2e721597130641e8211e7eedccb4c26413963eee6c1e2ed16ffb1a5f"),
    ("606162636465666768696a6b6c6d6e6f", "46f6ffadd3d06a09ff3c5860d2755c8b9819db7df44251788c7d8e3180de8eb1"),
    (b"L123456".hex(), "395aa064aa4c29f7010acfe3f25db9485bbd4b91897b6ad7ad547639252b4d56"),
]

LEAF = "SELECT ledger.leaf(%s, %s, %s, %s, %s, %s, %s::smallint, %s, %s)"


@pytest.fixture(scope="module")
def owner(shared: Database) -> Iterator[psycopg.Connection]:
    """Give a connection of the owner, who may call the parts of the append."""
    with psycopg.connect(shared.owner_url, autocommit=True) as conn:
        yield conn


@pytest.mark.parametrize(("entry", "expected"), VECTORS)
def test_entry_is_hashed_as_published(owner: psycopg.Connection, entry: str, expected: str) -> None:
    """The database hashes an entry as RFC 6962 says a leaf is hashed."""
    found = owner.execute("SELECT ledger.entry_hash(%s)", (bytes.fromhex(entry),)).fetchone()
    assert found == (bytes.fromhex(expected),)


def test_leaf_is_the_hash_of_these_bytes(owner: psycopg.Connection) -> None:
    """A header is nine fields, each after its length in four bytes, and the body follows it."""
    key, organisation = UUID(int=0xA1), UUID(int=0x01)
    moment = datetime(1970, 1, 1, 0, 0, 1, tzinfo=UTC)
    arguments = (organisation, 258, moment, moment, None, key, 3, True, b"body")
    fields = [
        "31",
        "00000000000000000000000000000001",
        "0000000000000102",
        "00000000000f4240",
        "00000000000f4240",
        "",
        "000000000000000000000000000000a1",
        "0003",
        "01",
    ]
    lengths = [
        "00000001",
        "00000010",
        "00000008",
        "00000008",
        "00000008",
        "00000000",
        "00000010",
        "00000002",
        "00000001",
    ]
    header = "".join(length + field for length, field in zip(lengths, fields, strict=True))
    entry = bytes.fromhex(header) + b"body"
    expected = owner.execute("SELECT sha256('\\x00'::bytea || %s)", (entry,)).fetchone()
    assert owner.execute(LEAF, arguments).fetchone() == expected


EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
YEAR = 365 * 86400 * 10**6
moments = st.integers(-70 * YEAR, 230 * YEAR).map(lambda number: EPOCH + timedelta(microseconds=number))
headers = st.builds(
    Header,
    organisation=st.uuids(),
    seq=st.integers(1, 2**63 - 1),
    recorded_at=moments,
    received_at=moments,
    sent_at=st.none() | moments,
    key=st.uuids(),
    kind_version=st.integers(1, 2**15 - 1),
    imported=st.booleans(),
)


@settings(max_examples=200, deadline=timedelta(seconds=5))
@given(header=headers, body=st.binary(max_size=200))
def test_database_and_verifier_hash_alike(owner: psycopg.Connection, header: Header, body: bytes) -> None:
    """Whatever stands in header and body, the append's hash is the verifier's."""
    assert owner.execute(LEAF, (*msgspec.structs.astuple(header), body)).fetchone() == (leaf_hash(header, body),)
