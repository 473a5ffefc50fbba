"""XML that means harm, or that is none: refused with a sentence, and nothing is fetched."""

import socket
from contextlib import suppress
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.domain.errors import BadDocument, TooLarge
from service.outbound.ubl.documents import Order
from service.outbound.ubl.parsing import DEEPEST, MOST_BYTES
from service.outbound.ubl.reading import read
from service.outbound.ubl.writing import written
from tests.outbound.ubl_documents import FULL

BODY = written(FULL[0]).decode()
HEAD, _, REST = BODY.partition("\n")
WORDS = (b"<", b">", b"&", b"<cbc:ID/>", b"<a xmlns=''>", b"]]>", b"<!--", b"\xff", b"<?x?>", b"9" * 300, b"1e9")
NAMED = '<b c:d=""/>' * 90_000
LAUGHS = "".join(f'<!ENTITY l{n} "{f"&l{n - 1};" * 10}">' for n in range(1, 10))


def refused(body: str | bytes) -> str:
    """Give what is said of a document that is not read."""
    with pytest.raises(BadDocument) as error:
        read(body.encode() if isinstance(body, str) else body, Order)
    assert error.value.problem().code == "bad-document"
    return str(error.value)


@pytest.mark.parametrize(
    "doctype",
    [
        '<!DOCTYPE Order SYSTEM "http://127.0.0.1:{port}/ubl.dtd">',
        '<!DOCTYPE Order [<!ENTITY x SYSTEM "file://{file}">]>',
        '<!DOCTYPE Order [<!ENTITY x SYSTEM "http://127.0.0.1:{port}/x">]>',
        '<!DOCTYPE Order [<!ENTITY % x SYSTEM "http://127.0.0.1:{port}/x"> %x;]>',
        f'<!DOCTYPE Order [<!ENTITY l0 "ha">{LAUGHS}]>',
        "<!DOCTYPE Order>",
    ],
)
def test_document_types_are_refused_before_anything_is_expanded_or_fetched(doctype: str, tmp_path: Path) -> None:
    """No entity, inside or outside, is made use of; a server that a document names is not asked."""
    secret = tmp_path / "secret"
    secret.write_text("canary", encoding="utf-8")
    with socket.create_server(("127.0.0.1", 0)) as server:
        server.setblocking(False)
        told = doctype.replace("{port}", str(server.getsockname()[1])).replace("{file}", str(secret))
        entity = "&l9;" if "l9" in told else "&x;"
        said = refused(f"{HEAD}\n{told}{REST.replace('pr-0071', entity)}")
        with pytest.raises(BlockingIOError):
            server.accept()
    assert said == (
        "The document has a document type (<!DOCTYPE ...>), of which none is read: leave it out, with its entities."
    )


def test_schemas_that_a_document_names_are_not_fetched() -> None:
    """`xsi:schemaLocation` and stylesheets are passed over."""
    with socket.create_server(("127.0.0.1", 0)) as server:
        server.setblocking(False)
        there = f"http://127.0.0.1:{server.getsockname()[1]}/o.xsd"
        hint = f'xmlns:xsi="http://www.w3.org/2001/XMLSchema-instance" xsi:schemaLocation="urn:x {there}"'
        sheet = f'<?xml-stylesheet href="{there}"?>'
        assert read(f"{sheet}{REST.replace('<Order ', f'<Order {hint} ', 1)}".encode(), Order).document == FULL[0]
        with pytest.raises(BlockingIOError):
            server.accept()


def test_documents_are_bounded_in_bytes() -> None:
    """A document of more than 4 MiB is not looked at."""
    with pytest.raises(TooLarge) as error:
        read(b" " * (MOST_BYTES + 1), Order)
    assert error.value.limit == 4_194_304


@pytest.mark.parametrize(
    ("body", "said"),
    [
        ("<a>" * 400_000, f"The document is nested deeper than {DEEPEST} levels, which no document of UBL needs."),
        (
            f"<a>{'<b/>' * 100_001}</a>",
            "The document has more than 100000 elements, or 32 attributes of one: divide it.",
        ),
        (
            "<a " + " ".join(f"b{n}='{n}'" for n in range(33)) + "/>",
            "The document has more than 100000 elements, or 32 attributes of one: divide it.",
        ),
        (
            f'<a xmlns="{"u" * 1_000_000}">{"<b/>" * 90_000}</a>',
            "The document has a name that is longer than 300 characters with its namespace.",
        ),
        (
            f"<a xmlns:c='{'u' * 1_000_000}'>{NAMED}</a>",
            "The document has a name that is longer than 300 characters with its namespace.",
        ),
        ("", "The document is no XML at line 1, column 1: no element found."),
        ("{}", "The document is no XML at line 1, column 1: not well-formed (invalid token)."),
        ("<Order>\n<a></b></Order>", "The document is no XML at line 2, column 6: mismatched tag."),
        ("<Order>&nothing;</Order>", "The document is no XML at line 1, column 8: undefined entity."),
        ("<Order>&#0;</Order>", "The document is no XML at line 1, column 8: reference to invalid character number."),
        ("<x:Order/>", "The document is no XML at line 1, column 1: unbound prefix."),
        (
            "<Order/>",
            (
                "The document is no Order of UBL 2.1: its root must be Order in "
                "urn:oasis:names:specification:ubl:schema:xsd:Order-2"
            ),
        ),
    ],
)
def test_what_is_no_document_is_said(body: str, said: str) -> None:
    """Too deep, too many, no XML at all, or of another sort: the sentence says what and where."""
    assert refused(body) == said


def test_a_long_text_is_a_fault_of_its_field_and_none_where_it_is_passed_over() -> None:
    """Three million characters in a field are told at its place; in an attachment they are nothing to us."""
    long = "x" * 3_000_000
    assert refused(BODY.replace("pr-0071", long)) == "/Order/cbc:CustomerReference: must have at most 100 characters"
    attached = f"<cbc:Description>{long}</cbc:Description>"
    reading = read(BODY.replace("<cbc:Name>Particle", f"{attached}<cbc:Name>Particle").encode(), Order)
    assert reading.document == FULL[0]
    assert reading.passed_over == ("/Order/cac:OrderLine/cac:LineItem/cac:Item/cbc:Description",)


@pytest.mark.parametrize("encoding", ["UTF-8", "UTF-16", "ISO-8859-1", "windows-1252", "US-ASCII"])
def test_documents_say_their_own_encoding(encoding: str) -> None:
    """What a document declares is how it is read."""
    body = BODY.replace('encoding="UTF-8"', f'encoding="{encoding}"')
    assert read(body.encode(encoding), Order).document == FULL[0]


def test_a_mark_of_the_encoding_is_read() -> None:
    """UTF-8 may begin with its mark; UTF-16 is known by it, or by what it declares."""
    assert read(BODY.encode("utf-8-sig"), Order).document == FULL[0]
    told = BODY.replace('encoding="UTF-8"', 'encoding="UTF-16"')
    assert read(told.encode("utf-16-be"), Order).document == FULL[0]
    assert read(REST.encode("utf-16"), Order).document == FULL[0]


def test_a_text_is_the_same_however_it_is_written() -> None:
    """Comments, instructions, CDATA and character references are no part of a number (XML Schema reads it as one)."""
    for text in ("6<!-- or 5 -->0", "6<?x y?>0", "<![CDATA[60]]>", "&#54;&#x30;", "\n 60\t"):
        assert read(BODY.replace(">60<", f">{text}<").encode(), Order).document == FULL[0]


@pytest.mark.parametrize(
    ("encoding", "real", "said"),
    [
        ("shift_jis", "utf-8", "is in an encoding that is not read here: send it in UTF-8."),
        ("no-such-thing", "utf-8", "is in an encoding that is not read here: send it in UTF-8."),
        ("iso-8859-12", "utf-8", "is in an encoding that is not read here: send it in UTF-8."),
        ("hz", "utf-8", "is in an encoding that is not read here: send it in UTF-8."),
        ("utf-8-sig", "utf-8", "is in an encoding that is not read here: send it in UTF-8."),
        ("unicode_escape", "ascii", "is in an encoding that is not read here: send it in UTF-8."),
        (
            *("ISO-8859-1", "utf-8-sig"),
            "begins with the mark of UTF-8, and says that it is in ISO-8859-1: send it in UTF-8.",
        ),
        ("zlib", "utf-8", "is in an encoding that is not read here: send it in UTF-8."),
        ("UTF-16", "utf-8", "is no XML at line 1, column 31: encoding specified in XML declaration is incorrect."),
        ("UTF-8", "latin-1", "is no XML at line 6, column 13: not well-formed (invalid token)."),
    ],
)
def test_wrong_encodings_are_refused(encoding: str, real: str, said: str) -> None:
    """An encoding that is not known, or that the bytes are not in, is refused with what to send."""
    body = BODY.replace('encoding="UTF-8"', f'encoding="{encoding}"').replace("Ring at", "Müßig")
    assert refused(body.encode(real, "backslashreplace")) == f"The document {said}"


@settings(max_examples=300, deadline=None)
@given(st.integers(0, len(BODY) - 1), st.integers(0, 60), st.binary(max_size=20) | st.sampled_from(WORDS))
def test_whatever_is_sent_is_read_or_refused(start: int, length: int, new: bytes) -> None:
    """A document with anything in place of anything makes no other error."""
    body = BODY.encode()
    with suppress(BadDocument):
        assert read(body[:start] + new + body[start + length :], Order).document.lines


@pytest.mark.parametrize(
    "wrong", ["<cac:SubLineItem/>", "<cbc:LineItem/>", "<cac:LineItem><cbc:ID>1</cbc:ID></cac:LineItem>"]
)
def test_of_many_faults_fifty_are_told(wrong: str) -> None:
    """Thirty thousand lines, each with something wrong, are refused with as many faults as a person can read."""
    lines = f"<cac:OrderLine>{wrong}</cac:OrderLine>" * 30_000
    with pytest.raises(BadDocument) as error:
        read(BODY.replace("</Order>", f"{lines}</Order>").encode(), Order)
    assert 0 < len(error.value.faults) <= 50
