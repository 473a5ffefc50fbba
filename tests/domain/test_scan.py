"""Scans in every form: what is told of each."""

from datetime import date
from uuid import UUID

import pytest

from service.domain.scan.label import label_text, tag_of
from service.domain.scan.read import read
from service.domain.scan.reading import Reading

TODAY = date(2026, 3, 2)
OURS = UUID("0198c1f2-0000-7000-8000-000000000001")
THEIRS = UUID("0198c1f2-0000-7000-8000-000000000002")
GS = "\x1d"
#: What zxing-cpp 3.1.1 gives for a GS1 DataMatrix of (01)09506000134352(17)271130(10)ABC123(21)SN-42.
BOX = f"01095060001343521727113010ABC123{GS}21SN-42"


def scanned(text: str) -> Reading:
    """Read a scan of today."""
    return read(text, TODAY, OURS)


@pytest.mark.parametrize(
    "text",
    [
        *(f"{prefix}{BOX}" for prefix in ("]d2", "]C1", "]Q3", "]e0", "]J1", "", GS)),
        f"{BOX}\r\n",
        "(01)09506000134352(17)271130(10)ABC123(21)SN-42",
        f"[)>\x1e05{GS}{BOX}\x1e\x04",
        f"]d1[)>\x1e05{GS}{BOX}\x1e\x04",
    ],
)
def test_an_element_string_is_read_with_and_without_its_symbology(text: str) -> None:
    """However a reader is set, the same is read."""
    said = scanned(text)

    assert (said.form, said.faults) == ("gs1-element-string", ())
    assert (said.gtin, said.lot, said.serial) == ("09506000134352", "ABC123", "SN-42")
    assert said.expires == date(2027, 11, 30)


def test_a_link_says_the_same() -> None:
    """A GS1 Digital Link in a QR code says what an element string does."""
    said = scanned("]Q1https://example.com/01/09506000134352/10/ABC123/21/SN-42?17=271130")

    assert (said.form, said.gtin, said.lot) == ("gs1-digital-link", "09506000134352", "ABC123")
    assert (said.serial, said.expires) == ("SN-42", date(2027, 11, 30))


def test_without_a_separator_a_lot_goes_on() -> None:
    """What follows a lot without a separator is part of it: no reader can know better (AI 10 has up to 20)."""
    assert scanned("]d2010950600013435210ABC21X1").lot == "ABC21X1"


def test_assets_have_serial_numbers_by_their_own_keys() -> None:
    """A GIAI is a serial number whole, a GRAI by what follows its check digit."""
    assert scanned("]d280049520614141234567").serial == "9520614141234567"
    assert scanned("]d2800302112345678900ABC").serial == "ABC"
    assert scanned("]d2800302112345678900").serial is None
    assert scanned("]d28006123456789012310102").gtin == "12345678901231"


#: The same facts in another order; the second without the separator, as (17) has a length of its own (GS1 General
#: Specifications, section 7.8). The fourth is of the unit tests of biip 5.2.0 (`test_parse.py`); the others are our
#: own, made of its SSCC and of the example GTIN of GS1.
@pytest.mark.parametrize(
    ("text", "gtin", "lot", "plain"),
    [
        (f"1727113010ABC123{GS}21SN-42{GS}0109506000134352", "09506000134352", "ABC123", False),
        ("17271130010950600013435210ABC123", "09506000134352", "ABC123", True),
        (f"31030001890109506000134352{GS}10XYZ", "09506000134352", "XYZ", False),
        ("00157035381410375177", None, None, True),
        ("0015703538141037517702095060001343523715", "09506000134352", None, True),
        (f"0015703538141037517702095060001343523715{GS}10ABC123", "09506000134352", "ABC123", False),
        (f"10ABC123{GS}02095060001343523715{GS}00157035381410375177", "09506000134352", "ABC123", False),
    ],
)
def test_an_element_string_may_begin_with_anything(
    text: str, gtin: str | None, lot: str | None, *, plain: bool
) -> None:
    """With a separator in it, or as a whole: then it may be a number of any sort as well, and is both."""
    said = scanned(text)

    assert (said.form, said.faults, said.gtin, said.lot) == ("gs1-element-string", (), gtin, lot)
    assert said.plain == (text if plain else None)
    assert [one.text for one in said.meanings] == ([None, text] if plain else [None])


#: ISO/IEC 15434 envelope; identifiers of ANS MH10.8.2-2016.
def test_data_identifiers_are_read_in_their_envelope() -> None:
    """Part number, lot, serial number and expiry are told; other identifiers are listed."""
    said = scanned(f"[)>\x1e06{GS}1P170-220{GS}1TL2409{GS}SPF-88{GS}14D20290331{GS}31PXYZ\x1e\x04")

    assert (said.form, said.part_number, said.lot) == ("data-identifiers", "170-220", "L2409")
    assert (said.serial, said.expires, said.faults) == ("PF-88", date(2029, 3, 31), ())
    assert [one.identifier for one in said.elements] == ["1P", "1T", "S", "14D", "31P"]
    assert scanned(f"[)>\x1e06{GS}25SUN123456789A42").serial == "UN123456789A42"


@pytest.mark.parametrize(
    "inside",
    [
        f"06{GS}",
        "06",
        f"12{GS}1TL2409",
        f"06{GS}2409",
        f"06{GS}1T",
        f"06{GS}14D20290231",
        f"06{GS}14D290331",
        f"06{GS}1TL\x002409",
    ],
)
def test_what_is_wrong_in_an_envelope_is_told(inside: str) -> None:
    """An empty message, another format, no identifier, no value, no day and control characters are faults."""
    said = scanned(f"[)>\x1e{inside}\x1e\x04")

    assert (said.form, len(said.faults), said.lot) == ("data-identifiers", 1, None)


def test_labels_name_a_tag_of_their_own_organisation() -> None:
    """A label is read whatever host it names; another firm's is an address like any other."""
    text = label_text("https://id.example.com", OURS, "FX-0142")

    assert text == f"https://id.example.com/{OURS}/FX-0142"
    assert (scanned(text).form, scanned(text).tag) == ("asset-label", "FX-0142")
    assert scanned(f"https://moved.example.org/kept/here/{OURS}/FX-0142").tag == "FX-0142"
    assert scanned(text.replace(str(OURS), str(THEIRS))).form == "identification-link"
    assert tag_of(f"http://id.example.com/{OURS}/FX-0142", OURS) is None
    assert tag_of(f"https://id.example.com/{OURS}/FX%200142", OURS) is None
    assert label_text(None, OURS, "FX-0142") == "FX-0142"


#: A Digital Link of the reference implementation with its check digit changed, and others of its refusals.
@pytest.mark.parametrize(
    ("text", "form"),
    [
        ("]d20112345678901234", "gs1-element-string"),
        ("0112345678901234", "gs1-element-string"),
        ("(01)12345678901234", "gs1-element-string"),
        ("]C110ABC", "gs1-element-string"),
        ("]d2", "gs1-element-string"),
        ("]d2010950600013435\uff12", "gs1-element-string"),
        ("https://a/01/12312312312334", "gs1-digital-link"),
        ("https://a/01/02345673", "gs1-digital-link"),
        ("]E01234567890129", "gtin"),
        ("]E4123", "gtin"),
    ],
)
def test_a_code_against_its_own_rules_says_nothing(text: str, form: str) -> None:
    """A wrong check digit, and a lot without its item, are faults; nothing is taken from such a code."""
    said = scanned(text)

    assert (said.form, bool(said.faults)) == (form, True)
    assert (said.gtin, said.lot, said.serial, said.expires, said.text) == (None, None, None, None, None)


#: The first two are of the unit tests of the reference implementation (`ai.c`, `test_ai_parseAIdata`) and of biip 5.2.0
#: (`test_gs1_messages.py`), which both read them: here a lot says nothing without its item. The rest is our own.
@pytest.mark.parametrize(
    "text",
    [f"1012345{GS}11991225", f"15210526{GS}100329", f"21S1{GS}0109506000134353", f"L2409{GS}", f"1PPN-1{GS}1TL2409"],
)
def test_a_text_with_a_separator_is_no_lot_number(text: str) -> None:
    """It has the form of a code: what is wrong with it is told, and it is not looked for as it stands."""
    said = scanned(text)

    assert (said.form, bool(said.faults)) == ("gs1-element-string", True)
    assert (said.lot, said.text, said.plain) == (None, None, None)


#: The first is of the unit tests of biip 5.2.0 (`test_parse.py`): an SSCC with a wrong check digit. Then, our own, a
#: GTIN with one, a key with a rest that is no element, goods in a unit without the unit, and (01) within a lot.
@pytest.mark.parametrize(
    "text",
    [
        "00376130321109103421",
        "172905310109506000134353",
        "00157035381410375177-A",
        "02095060001343523715",
        "10A0109506000134352",
    ],
)
def test_what_is_no_element_string_as_a_whole_is_any_other_text(text: str) -> None:
    """So a number is looked for as it stands, whatever it may look like."""
    said = scanned(text)

    assert (said.form, said.faults, said.text, said.meanings) == ("plain", (), text, (said,))


@pytest.mark.parametrize(
    ("text", "plain"),
    [
        ("0109506000134352", True),
        ("(01)09506000134352(10)ABC123", True),
        ("0112345678901234", True),
        ("(24)5512", True),
        ("]d20109506000134352", False),
        ("]d20112345678901234", False),
        (BOX, False),
    ],
)
def test_what_only_looks_like_a_code_may_be_meant_as_it_stands(text: str, *, plain: bool) -> None:
    """Where no reader says that it is one, and no separator stands in it, it may be a number of any sort."""
    said = scanned(text)

    assert (said.form, said.plain) == ("gs1-element-string", text if plain else None)


@pytest.mark.parametrize(
    "text",
    ["L2409", "170-220", "FX-0142", "10ABC", "17290531", "9521101530018", "]C0L2409", "]A0FX-0142", "ﬁlter 7", "مرحبا"],
)
def test_any_other_text_is_looked_for_as_it_stands(text: str) -> None:
    """Digits that might be anything are no code of GS1, and no fault."""
    said = scanned(text)

    assert (said.form, said.faults) == ("plain", ())
    assert said.text == text.removeprefix("]C0").removeprefix("]A0")


def test_a_retail_code_is_a_gtin() -> None:
    """EAN-13 and EAN-8 hold a GTIN and nothing else (ISO/IEC 15424: `]E0`, `]E4`)."""
    assert scanned("]E06291041500213").gtin == "06291041500213"
    assert scanned("]E402345673").gtin == "00000002345673"


HOSTILE = (
    "]d2" + "9" * 100_000,
    "]d2" + "2011" * 25_000,
    "0" * 100_000,
    "17290531" * 12_000 + "0109506000134352",
    "0109506000134352" * 6_000,
    f"10A{GS}" * 25_000,
    "(10)" * 25_000,
    "(10)a" + "\\(12)x" * 15_000 + "(",
    "https://a/" + "01/" * 30_000,
    "https://a/01/12312312312333?" + "99=A&" * 20_000,
    "https://" + "a" * 100_000 + f"/{OURS}",
    "https://a/01/12312312312333/10/" + "%25" * 30_000,
    f"[)>\x1e06{GS}" + f"1TA{GS}" * 20_000,
    "\x00\x01\x02\x1b[31m\x7f\u202e\u2066" * 5_000,
    "]",
    "]d",
    "()",
    GS,
    GS * 100_000,
    "\ud800",
    "]d2\ud800",
    "https://a/01/12312312312333/10/\udfff",
    "javascript:alert(document.domain)",
    "data:text/html,<script>alert(1)</script>",
    "' OR 1=1; DROP TABLE ledger.event; --",
    "https://[::1",
    "https://a:99999999/01/12312312312333",
)


@pytest.mark.parametrize("text", HOSTILE, ids=range(len(HOSTILE)))
def test_hostile_text_is_read_without_harm(text: str) -> None:
    """Whatever a code holds, reading it ends, with a reading."""
    assert isinstance(scanned(text), Reading)
