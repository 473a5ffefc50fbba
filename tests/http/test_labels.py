"""Labels: what they say is read back from the drawing itself, as a reader of codes reads it."""

import re
from typing import Any
from xml.etree import ElementTree as ET

import httpx
import pytest
import zxingcpp

from service.pages.code import code
from tests.http.doors import FOREIGN, OURS
from tests.http.firm import message
from tests.http.keys import Keys

Headers = dict[str, str]
SVG = "{http://www.w3.org/2000/svg}"
STROKE = re.compile(r"M(\d+) (\d+)h(\d+)v1h-(\d+)z")
SCALE = 4
"""Pixels a module."""


def painted(path: str, size: int) -> bytes:
    """Paint what a path draws, a byte a pixel: dark strokes on white."""
    row = size * SCALE
    pixels = bytearray(b"\xff" * row * row)
    assert STROKE.sub("", path) == ""
    for left, top, length, back in (map(int, stroke.groups()) for stroke in STROKE.finditer(path)):
        assert length == back
        for line in range(top * SCALE, (top + 1) * SCALE):
            begin = line * row + left * SCALE
            pixels[begin : begin + length * SCALE] = bytes(length * SCALE)
    return bytes(pixels)


def read(path: str, size: int) -> zxingcpp.Barcode:
    """Read what a path draws, as a reader does."""
    pixels: Any = painted(path, size)  # the stubs ask for an array of numpy, where any buffer will do
    row = size * SCALE
    (found,) = zxingcpp.read_barcodes(zxingcpp.ImageView(pixels, row, row, zxingcpp.ImageFormat.Lum))
    return found


def scanned(svg: str) -> zxingcpp.Barcode:
    """Read the code of a label."""
    root = ET.fromstring(svg)  # noqa: S314 -- our own drawing
    path = root.find(f"{SVG}path")
    assert path is not None
    return read(path.attrib["d"], int(root.attrib["viewBox"].split()[2]))


async def test_a_label_is_read_back_as_its_unit(labelling: httpx.AsyncClient, administrator: Headers) -> None:
    """The code that the label draws says the firm's own address of the unit; scanned, it is that unit."""
    drawn_label = await labelling.get("/v1/assets/FX-0142/label", headers=administrator)
    code_read = scanned(drawn_label.text)
    told = await labelling.post("/v1/scans/interpretation", json={"scans": [code_read.text]}, headers=administrator)
    marked = f"{code_read.symbology_identifier}{code_read.text}"
    again = await labelling.post("/v1/scans/interpretation", json={"scans": [marked]}, headers=administrator)

    assert drawn_label.headers["content-type"] == "image/svg+xml"
    assert drawn_label.headers["content-security-policy"].startswith("default-src 'none'")
    assert code_read.format == zxingcpp.BarcodeFormat.QRCode
    assert code_read.text == f"https://id.example.com/a/{OURS}/FX-0142"
    (one,) = told.json()["scans"]
    assert (one["form"], [unit["tag"] for unit in one["assets"]]) == ("asset-label", ["FX-0142"])
    assert again.json()["scans"] == [one]


async def test_without_an_address_the_code_is_the_tag(firm: httpx.AsyncClient, administrator: Headers) -> None:
    """Where the operator has set nothing, no address is made up."""
    code_read = scanned((await firm.get("/v1/assets/FX-0142/label", headers=administrator)).text)
    told = await firm.post("/v1/scans/interpretation", json={"scans": [code_read.text]}, headers=administrator)

    assert code_read.text == "FX-0142"
    assert [unit["tag"] for unit in told.json()["scans"][0]["assets"]] == ["FX-0142"]


async def test_a_label_shows_its_tag_to_people(firm: httpx.AsyncClient, administrator: Headers) -> None:
    """The tag stands below the code, and is the drawing's title; of a unit tagged anew it is the new one."""
    await firm.post("/v1/events", json=message("retagged", asset="FX-0142", new_tag="FX-7"), headers=administrator)
    root = ET.fromstring((await firm.get("/v1/assets/FX-0142/label", headers=administrator)).text)  # noqa: S314 -- our own drawing

    assert (root.findtext(f"{SVG}text"), root.findtext(f"{SVG}title")) == ("FX-7", "FX-7")


@pytest.mark.parametrize("text", ["A", "A" * 40, f"https://{'a' * 92}/{OURS}/{'F' * 40}"])
def test_codes_of_any_length_are_read_back(text: str) -> None:
    """From the shortest tag to the longest address, what is drawn is what was said, within a quiet zone."""
    path, size = code(text)
    places = [tuple(map(int, stroke.groups())) for stroke in STROKE.finditer(path)]

    assert read(path, size).text == text
    assert min(left for left, _, _, _ in places) == min(top for _, top, _, _ in places) == 4
    assert max(left + length for left, _, length, _ in places) == max(top for _, top, _, _ in places) + 1 == size - 4


async def sheet(http: httpx.AsyncClient, headers: Headers, **asked: str) -> httpx.Response:
    """Ask for a sheet of labels."""
    return await http.get("/v1/labels", headers=headers, params=asked)


def read_back(answered: httpx.Response) -> list[str]:
    """Read every code of a sheet."""
    assert answered.status_code == 200, answered.text
    return [scanned(svg).text for svg in re.findall(r"<svg.*?</svg>", answered.text, re.DOTALL)]


async def test_a_sheet_has_a_label_for_each_unit(firm: httpx.AsyncClient, administrator: Headers) -> None:
    """Units are printed by tag or as they are named, but for those that are retired; each label is read back."""
    at = {"model": "northwind-2", "by": "p-1"}
    for tag, place in (("FX-2", "harrow-dock"), ("FX-3", "east-yard"), ("FX-4", "harrow-dock")):
        new = message("registered", asset=tag, serial=f"S-{tag}", site=place, **at)
        assert (await firm.post("/v1/events", json=new, headers=administrator)).status_code == 201
    await firm.post("/v1/events", json=message("retired", asset="FX-4", reason="lost"), headers=administrator)

    every = await sheet(firm, administrator)
    assert read_back(every) == ["FX-0142", "FX-2", "FX-3"]
    assert read_back(await sheet(firm, administrator, site="harrow-dock")) == ["FX-0142", "FX-2"]
    assert read_back(await sheet(firm, administrator, tags="FX-3,FX-0142")) == ["FX-3", "FX-0142"]
    assert read_back(await sheet(firm, administrator, after="FX-2", model="northwind-2")) == ["FX-3"]
    assert "More follow" not in every.text


async def test_a_sheet_needs_nothing_from_anywhere(firm: httpx.AsyncClient, administrator: Headers) -> None:
    """The page runs no script and fetches nothing, and its policy allows neither."""
    page = await sheet(firm, administrator)

    assert page.headers["content-security-policy"] == "default-src 'none'; style-src 'unsafe-inline'"
    assert not re.search(r"<script|<link|<img|src=|href=|@import|url\(", page.text)
    assert "@page { size: A4" in page.text


async def test_a_long_list_is_printed_sheet_by_sheet(firm: httpx.AsyncClient, administrator: Headers) -> None:
    """A sheet has 200 labels, and says behind which tag the next begins."""
    many = [
        message("registered", asset=f"MY-{n:03}", serial=f"S-{n}", site="east-yard", model="northwind-2")
        for n in range(201)
    ]
    await firm.post("/v1/events", json=many, headers=administrator)
    first = await sheet(firm, administrator, site="east-yard")
    second = await sheet(firm, administrator, site="east-yard", after="MY-199")

    assert first.text.count("<svg") == 200
    assert "after=MY-199" in first.text
    assert read_back(second) == ["MY-200"]


@pytest.mark.parametrize(
    ("asked", "status", "code"),
    [
        ({"tags": "FX-404"}, 404, "not-found"),
        ({"tags": "FX-0142,"}, 400, "bad-parameter"),
        ({"tags": "<b>"}, 400, "bad-parameter"),
        ({"tags": ",".join(["A"] * 101)}, 400, "bad-parameter"),
        ({"site": "nowhere"}, 404, "not-found"),
        ({"model": "none"}, 404, "not-found"),
        ({"limit": "7"}, 400, "bad-parameter"),
    ],
)
async def test_a_sheet_of_what_is_not_there_is_refused(
    firm: httpx.AsyncClient, administrator: Headers, asked: dict[str, str], status: int, code: str
) -> None:
    """A misspelt tag prints no sheet without it."""
    answered = await sheet(firm, administrator, **asked)

    assert (answered.status_code, answered.json()["type"]) == (status, f"/problems/{code}")


async def test_a_refusal_names_the_tag_or_what_tags_are_made_of(
    firm: httpx.AsyncClient, administrator: Headers
) -> None:
    """Of many tags the unknown one is named; one that can be none is told what tags are, in words."""
    unknown = await sheet(firm, administrator, tags="FX-0142,FX-404")
    long = await sheet(firm, administrator, tags=f"a,{'b' * 41}")

    assert "no such asset as FX-404, or none" in unknown.json()["detail"]
    assert long.json()["errors"][0]["detail"] == (
        "must be tags joined by commas, at most 100: each 1 to 40 of the characters A-Z a-z 0-9 . _ -"
    )


async def test_labels_are_for_whoever_sees_the_unit(firm: httpx.AsyncClient, keys: Keys) -> None:
    """Keys of another site, of another firm and of a role that reads no units get no label."""
    yard = await keys.make("site-lead", ["east-yard"])
    theirs = await keys.make("administrator", organisation=FOREIGN)
    integrator = await keys.make("integrator")
    answered = [
        (await firm.get("/v1/assets/FX-0142/label", headers=key)).status_code for key in (yard, theirs, integrator)
    ]
    named = [(await sheet(firm, key, tags="FX-0142")).status_code for key in (yard, theirs, integrator)]

    assert answered == named == [404, 404, 403]
    assert read_back(await sheet(firm, yard)) == []
