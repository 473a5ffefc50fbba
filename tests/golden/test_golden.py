"""What is stored and hashed never changes: the bytes of every kind are held in a file beside this test."""

import hashlib
import json
from pathlib import Path
from typing import Any

import msgspec
import pytest

from service.domain.codec import decode, decode_stored, encode, seal
from service.domain.kinds import BY_NAME, KINDS
from service.domain.leaf import Header, header_bytes, leaf_hash
from tests.golden.write import FOLDER, golden, path_of, write_missing

FILES = sorted(FOLDER.glob("*.json"))


def read(path: Path) -> dict[str, Any]:
    """Give what a golden file holds."""
    loaded: dict[str, Any] = json.loads(path.read_text(encoding="utf-8"))
    return loaded


def named(path: Path) -> tuple[str, int]:
    """Give the kind and the version that a file is named for."""
    kind, version = path.stem.rsplit(".v", 1)
    return kind, int(version)


def test_every_version_of_every_kind_has_a_golden_file_and_there_is_no_other() -> None:
    """Files and kinds match one to one, from version 1 to the current one."""
    wanted = {path_of(kind, version) for kind in KINDS for version in range(1, kind.version + 1)}
    assert set(FILES) == wanted


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_a_posted_message_is_stored_as_the_same_bytes_for_good(path: Path) -> None:
    """The message of the file, read and sealed under its key, gives its body and its texts."""
    kind, version = named(path)
    if version != BY_NAME[kind].version:
        pytest.skip("an older version is no longer posted")
    held = read(path)
    sealed, texts = seal(decode(msgspec.json.encode(held["posted"])), bytes.fromhex(held["key"]))
    assert encode(sealed).decode() == held["body"]
    assert texts == held["texts"]


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_a_stored_body_of_any_version_can_be_read(path: Path) -> None:
    """The body decodes as its kind; one of the current version is written again to the byte."""
    kind, version = named(path)
    body = read(path)["body"].encode()
    event = decode_stored(body, kind, version)
    assert type(event) is BY_NAME[kind]
    if version == event.version:
        assert encode(event) == body


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_the_leaf_of_a_stored_event_is_the_same_for_good(path: Path) -> None:
    """Header and body give the leaf's input; the leaf is SHA-256 of a zero byte and that (RFC 6962 section 2.1)."""
    held = read(path)
    body = held["body"].encode()
    header = msgspec.convert(held["header"], Header)
    entry = bytes.fromhex(held["leaf_input"])
    assert header_bytes(header) + body == entry
    assert hashlib.sha256(b"\x00" + entry).hexdigest() == held["leaf"]
    assert leaf_hash(header, body).hex() == held["leaf"]


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_no_free_text_stands_in_a_stored_body(path: Path) -> None:
    """Every text of the example is replaced by its keyed hash."""
    held = read(path)
    assert held["texts"]["remark"] == "entered at the gate"
    for text in held["texts"].values():
        assert text not in held["body"]
    assert held["body"].count('"hmac-sha256:') == len(held["texts"])


def test_writing_makes_new_files_and_never_touches_an_old_one(tmp_path: Path) -> None:
    """A file that exists keeps its bytes, whatever the kind says now."""
    kept = path_of(BY_NAME["checked"], 1, tmp_path)
    kept.write_text("as it was")
    written = write_missing(tmp_path)
    assert kept.read_text() == "as it was"
    assert len(written) == 46
    assert read(path_of(BY_NAME["issued"], 1, tmp_path)) == read(path_of(BY_NAME["issued"], 1))
    assert write_missing(tmp_path) == []


def test_a_golden_file_holds_the_documented_header() -> None:
    """The fields before the body, spelled out once by hand: four bytes of length, then the field, in their order."""
    entry = bytes.fromhex(golden(BY_NAME["checked"])["leaf_input"])
    header = [
        ("00000001", "31"),  # format "1"
        ("00000010", "0198c1f2000070008000000000000001"),  # organisation
        ("00000008", "000000000000bc53"),  # seq 48211
        ("00000008", "00064c042e6958a1"),  # recorded_at, microseconds
        ("00000008", "00064c042e658810"),  # received_at
        ("00000008", "00064c042e527540"),  # sent_at
        ("00000010", "0198c1f2000070008000000000000002"),  # key
        ("00000002", "0001"),  # version of the kind
        ("00000001", "00"),  # not imported
    ]
    written = "".join(length + field for length, field in header)
    assert entry.hex().startswith(written + b'{"kind":"checked"'.hex())
