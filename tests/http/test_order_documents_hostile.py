"""Bodies that are no documents, or are meant to do harm: each is told what is wrong, and none ends in a 500."""

import gzip

import httpx
import pytest

from service.http.describing.document_examples import RECEIPT, RESPONSE
from service.outbound.ubl.sheet import sheet
from service.outbound.ubl.writing import written
from tests.http.document_firm import CSV, DOOR, XML, places, send, stock, store
from tests.http.firm import Headers

__all__ = ["store"]

RECEIVED = written(RECEIPT).decode()
HEAD, _, REST = RECEIVED.partition("\n")
LAUGHS = "".join(f'<!ENTITY l{nth} "{f"&l{nth - 1};" * 10}">' for nth in range(1, 10))
NO_DOCTYPE = (
    "The document has a document type (<!DOCTYPE ...>), of which none is read: leave it out, with its entities."
)
DEEP = "<a>" * 10_000 + "</a>" * 10_000

REFUSED: dict[str, tuple[str, bytes | str, str]] = {
    "bomb": (XML, f'{HEAD}<!DOCTYPE r [<!ENTITY l0 "ha">{LAUGHS}]>{REST.replace("RA-1", "&l9;")}', NO_DOCTYPE),
    "external entity": (XML, f'{HEAD}<!DOCTYPE r [<!ENTITY x SYSTEM "file:///etc/passwd">]>{REST}', NO_DOCTYPE),
    "external type": (XML, f'{HEAD}<!DOCTYPE r SYSTEM "http://127.0.0.1:9/r.dtd">{REST}', NO_DOCTYPE),
    "unknown entity": (XML, RECEIVED.replace("RA-1", "&who;"), "The document is no XML at line 4"),
    "deep": (XML, DEEP, "The document is nested deeper than 32 levels"),
    "wrong root": (XML, "<Invoice/>", "The document is none that is read here: its root must be one of UBL 2.1"),
    "root without namespace": (XML, "<ReceiptAdvice/>", "The document is none that is read here"),
    "no XML": (XML, b"\x00\xff", "The document is no XML at line 1"),
    "empty": (XML, b"", "The document is no XML at line 1"),
    "latin-1 that says UTF-8": (XML, RECEIVED.replace("wet", "durchnäßt").encode("latin-1"), "The document is no XML"),
    "unknown encoding": (
        XML,
        RECEIVED.replace("UTF-8", "utf-7"),
        "The document is in an encoding that is not read here",
    ),
    "a table as XML": (XML, sheet(RECEIPT), "The document is no XML at line 1"),
    "XML as a table": (CSV, RECEIVED, "The document does not say by its columns what it is"),
    "latin-1 table": (CSV, sheet(RECEIPT).replace(b"wet", b"durchn\xe4\xdft"), "The document is not in UTF-8"),
    "empty table": (CSV, b"", "The document is empty"),
    "binary table": (CSV, b"\x00\xff\x00", "The document is not in UTF-8"),
    "open quote": (CSV, b'id,order\r\n"a', "The document is no CSV (RFC 4180)"),
    "semicolons": (CSV, b"id;order\r\na;b\r\n", "The document has semicolons between its columns"),
}


@pytest.mark.parametrize("name", REFUSED)
async def test_a_body_that_is_no_document_is_refused_whole(
    store: httpx.AsyncClient, administrator: Headers, name: str
) -> None:
    """One sentence says what is wrong with it, and nothing of it is taken or kept."""
    media, body, said = REFUSED[name]
    answered = await send(store, administrator, body, media)
    told = answered.json()
    assert (answered.status_code, told["type"]) == (422, "/problems/bad-document")
    assert told["detail"].startswith(said)
    assert await stock(store, administrator) == []
    assert (await store.get("/v1/rejected", headers=administrator)).json()["rejected"] == []


async def test_a_document_says_its_own_encoding(store: httpx.AsyncClient, administrator: Headers) -> None:
    """One that says it is in Latin-1 is read as that, whatever charset stands in the header."""
    body = RECEIVED.replace("UTF-8", "ISO-8859-1").replace("wet through", "durchnäßt").encode("latin-1")
    answered = await send(store, administrator, body, f"{XML}; charset=utf-8")
    assert [one["reason"] for one in answered.json()["missed"]] == ["durchnäßt"]


@pytest.mark.parametrize("media", [XML, CSV])
async def test_ten_megabytes_are_too_many(store: httpx.AsyncClient, administrator: Headers, media: str) -> None:
    """They are refused with the bound; packed in a few thousand bytes, for being a hundred times as long unpacked."""
    body = (written(RECEIPT) if media == XML else sheet(RECEIPT)) + b" " * 10_000_000
    packed = gzip.compress(body)
    answered = await send(store, administrator, body, media)
    coded = await send(store, administrator | {"content-encoding": "gzip"}, packed, media)
    assert len(packed) < 20_000
    for one, limit in ((answered, 4_194_304), (coded, 100)):
        assert (one.status_code, one.json()["type"], one.json()["limit"]) == (413, "/problems/too-large", limit)


@pytest.mark.parametrize("media", ["application/json", "text/plain", "", "application/xhtml+xml"])
async def test_another_form_is_told_which_are_read(
    store: httpx.AsyncClient, administrator: Headers, media: str
) -> None:
    """A body of another form, or of none, is a 415 with the forms there are."""
    headers = administrator | ({"content-type": media} if media else {})
    answered = await store.post(DOOR, content=written(RESPONSE), headers=headers)
    assert (answered.status_code, answered.json()["type"]) == (415, "/problems/unsupported-media")
    assert answered.headers["accept-post"] == "application/xml, text/xml, text/csv"
    assert "application/xml, text/xml, text/csv" in answered.json()["detail"]


async def test_many_faults_are_as_many_as_a_person_reads(store: httpx.AsyncClient, administrator: Headers) -> None:
    """A thousand lines of an item that there is not are refused with fifty faults."""
    line = RECEIVED[RECEIVED.index(" <cac:ReceiptLine>") : RECEIVED.index("</ReceiptAdvice>")]
    many = "".join(line.replace("<cbc:ID>1<", f"<cbc:ID>{nth}<", 1) for nth in range(1_000)).replace("pf-170", "pf-9")
    told = places(await send(store, administrator, RECEIVED.replace(line, many)))
    assert len(told) == 50
    assert told[49] == (
        "/ReceiptAdvice/cac:ReceiptLine[50]/cac:Item/cac:BuyersItemIdentification/cbc:ID",
        "pf-9 is no item that is defined here",
    )
