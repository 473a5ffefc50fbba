"""Documents as tables: written for spreadsheets, and read back from them."""

from contextlib import suppress
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from service.domain.errors import BadDocument, TooLarge
from service.outbound.cells import guarded, unguarded
from service.outbound.ubl.documents import DespatchAdvice, Document, Order, OrderResponse, ReceiptAdvice
from service.outbound.ubl.sheet import columns, read_sheet, sheet
from tests.outbound.ubl_documents import FULL, LEAST
from tests.outbound.ubl_drawn import documents

LITTLE = "id,issued_on,line.id,line.quantity.value,line.quantity.unit,line.item.item\r\n"
NUMBER = "must be a number such as 12 or 18.40, with a point"
ONE_LINE = "must be one line of text that says something, without control characters"
SAME = ("row 3, column id", "must be as in row 2")
TWICE = ("row 3, column line.id", "1 is named twice")
ROW = "PO-1,2026-11-25,1,12,C62,pf-170\r\n"


@pytest.mark.parametrize("document", [*FULL, *LEAST], ids=lambda one: type(one).__name__)
def test_every_document_is_read_back(document: Document) -> None:
    """The most and the least that each says stands in its table."""
    assert read_sheet(sheet(document), type(document)) == document


@pytest.mark.parametrize("wanted", [Order, OrderResponse, DespatchAdvice, ReceiptAdvice])
@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large])
@given(data=st.data())
def test_anything_is_read_back(data: st.DataObject, wanted: type[Any]) -> None:
    """Any document is the same from its table."""
    document = data.draw(documents(wanted))
    assert read_sheet(sheet(document), wanted) == document


@given(st.text())
def test_cells_are_guarded_and_read_back(text: str) -> None:
    """No cell begins as a formula, and every text comes back."""
    cell = guarded(text)
    assert not cell.lstrip().startswith(("=", "+", "-", "@"))
    assert unguarded(cell) == text


def test_a_table_is_as_rfc_4180_has_it() -> None:
    """A mark of UTF-8, a row of names, CRLF, quotes where they are needed, numbers as they are."""
    text = sheet(FULL[3]).decode()
    head, row = text.removesuffix("\r\n").split("\r\n")
    assert head.startswith("\ufeffid,issued_on,note,orders,despatches,buyer.id,buyer.name,")
    assert row.startswith(
        'RA-1,2026-11-25,wet,PO/2026/0071,DA-3,harrow,Harrow Fabrication,,,,,"1 Dock Road\nHarrow Dock",'
    )
    assert row.endswith(',"\x27\nS-1","L2411\nL2412","2029-05-31\n"')


def test_a_small_table_is_enough() -> None:
    """Columns that a firm has nothing for are left out, and rows are lines."""
    read = read_sheet((LITTLE + ROW + "PO-1,2026-11-25,2,1.5,XBX,pf-171\r\n").encode(), Order)
    assert [(line.id, str(line.quantity.value), line.quantity.unit, line.item.item) for line in read.lines] == [
        ("1", "12", "C62", "pf-170"),
        ("2", "1.5", "XBX", "pf-171"),
    ]


@pytest.mark.parametrize(("cell", "number"), [(".0", "0"), (".50", "0.5"), ("-0", "0"), ("7.", "7"), ("0100", "100")])
def test_numbers_of_tables_are_those_of_documents(cell: str, number: str) -> None:
    """What XML Schema calls a number is one in a table too."""
    names = "id,issued_on,line.id,line.despatched.value,line.despatched.unit,line.answers.line\r\n"
    (line,) = read_sheet(f"{names}DA-1,2026-11-25,1,{cell},C62,10\r\n".encode(), DespatchAdvice).lines
    assert line.despatched is not None
    assert str(line.despatched.value) == number


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "The document is empty: send a row with the names of the columns, and rows below it."),
        (LITTLE, "The document must have 1 to 1000 rows below the names of its columns."),
        (LITTLE + ROW * 1001, "The document must have 1 to 1000 rows below the names of its columns."),
        (LITTLE.replace(",", ";") + ROW, "The document has semicolons between its columns: save it with commas."),
        (LITTLE + '"a"b', "The document is no CSV (RFC 4180): ',' expected after '\"'."),
        ("idd," + LITTLE + ROW, "row 1, column 'idd': no such column here; is 'id' meant?"),
        ("id," + LITTLE + "PO-1," + ROW, "row 1, column 'id': stands twice"),
        (LITTLE + ROW.replace("12", "1,5", 1), "row 2, column line.item.item: has more cells than there are columns"),
        (
            LITTLE + ROW.replace("12", '"1,5"', 1),
            "row 2, column line.quantity.value: must be a number such as 12 or 18.40, with a point",
        ),
        (
            LITTLE + ROW.replace("C62", "CT"),
            (
                "row 2, column line.quantity.unit: CT is a package and no unit: as a unit it "
                "is XCT (UN/ECE Recommendation 21)"
            ),
        ),
        (LITTLE + ROW.replace("2026-11-25", "25/11/2026"), "row 2, column issued_on: must be a day such as 2026-03-02"),
        (LITTLE + ROW + ROW, "row 3, column line.id: 1 is named twice"),
        (
            LITTLE + ROW + ROW.replace("PO-1", "PO-2").replace(",1,", ",2,"),
            "row 3, column id: must be as in row 2",
        ),
        (LITTLE + ROW.replace("PO-1", ""), "row 2, column id: is needed"),
        (LITTLE + ROW.replace(",1,", ",,"), "row 2, column line.id: is needed"),
    ],
)
def test_faults_are_told_by_row_and_column(text: str, said: str) -> None:
    """What is wrong with a table is told where a person finds it."""
    with pytest.raises(BadDocument) as error:
        read_sheet(text.encode(), Order)
    assert str(error.value) == said or said in [f"{one.at}: {one.detail}" for one in error.value.faults]


LINELESS = "says nothing of a line: fill in columns of line., or leave the row out"


@pytest.mark.parametrize(
    ("text", "told"),
    [
        (LITTLE + ROW + "PO-1,2026-11-25,,,,\r\n", [("row 3", LINELESS)]),
        (LITTLE + "PO-1,2026-11-25,,,,\r\n", [("row 2", LINELESS)]),
        (
            f"\r\n{LITTLE}{ROW}PO-1,2026-11-25,,,,\r\n,,,,,\r\n\r\n{ROW.replace(',1,12,', ',2,twelve,')}",
            [("row 4", LINELESS), ("row 7, column line.quantity.value", NUMBER)],
        ),
        (
            LITTLE + ROW + "\r\n" + ROW.replace(",1,", ",2,").replace("C62", "CT").replace("2026-11-25", "soon"),
            [
                ("row 4, column issued_on", "must be a day such as 2026-03-02"),
                (
                    "row 4, column line.quantity.unit",
                    "CT is a package and no unit: as a unit it is XCT (UN/ECE Recommendation 21)",
                ),
            ],
        ),
        (LITTLE + '"PO\n1",2026-11-25,1,12,C62,pf-170\r\n' + ROW, [("row 2, column id", ONE_LINE), SAME, TWICE]),
        (
            f" , \r\n{LITTLE.replace('issued_on', 'issued')}{ROW}",
            [("row 2, column 'issued'", "no such column here; is 'issued_on' meant?")],
        ),
    ],
)
def test_every_row_counts_and_faults_name_its_number(text: str, told: list[tuple[str, str]]) -> None:
    """No row is dropped but an empty one, which still has a number; what is wrong is told at the row it stands in."""
    with pytest.raises(BadDocument) as error:
        read_sheet(text.encode(), Order)
    assert [(fault.at, fault.detail) for fault in error.value.faults] == told


def test_a_response_to_a_whole_order_needs_no_line() -> None:
    """The only row of a response may say nothing of lines; of several each does."""
    names = "id,issued_on,order,response,line.id\r\n"
    read = read_sheet(f"{names}OR-1,2026-11-25,PO-1,AP,\r\n".encode(), OrderResponse)
    assert (read.response, read.lines) == ("AP", ())
    with pytest.raises(BadDocument) as error:
        read_sheet(f"{names}OR-1,2026-11-25,PO-1,CA,1\r\nOR-1,2026-11-25,PO-1,CA,\r\n".encode(), OrderResponse)
    assert [(fault.at, fault.detail) for fault in error.value.faults] == [("row 3", LINELESS)]


def test_tables_are_bounded_and_in_utf_8() -> None:
    """Too many bytes, and bytes of another encoding, are refused."""
    with pytest.raises(TooLarge):
        read_sheet(b" " * 5_000_000, Order)
    with pytest.raises(BadDocument, match="is not in UTF-8"):
        read_sheet((LITTLE + ROW).replace("PO-1", "Mü").encode("latin-1"), Order)


def test_columns_stand_once() -> None:
    """No two fields of a document have one column."""
    for wanted in (Order, OrderResponse, DespatchAdvice, ReceiptAdvice):
        names = [name for name, _ in columns(wanted)]
        assert len(names) == len(set(names))


@settings(max_examples=300, deadline=None)
@given(st.integers(0, 400), st.integers(0, 40), st.binary(max_size=20) | st.sampled_from([b'"', b",", b"\r\n", b"'\n"]))
def test_whatever_is_sent_is_read_or_refused(start: int, length: int, new: bytes) -> None:
    """A table with anything in place of anything makes no other error."""
    body = (LITTLE + ROW).encode()
    with suppress(BadDocument):
        assert read_sheet(body[:start] + new + body[start + length :], Order).lines


def test_a_million_columns_are_refused() -> None:
    """Names that nobody knows are told, the first fifty of them."""
    with pytest.raises(BadDocument) as error:
        read_sheet((",".join(["x", "x,y"] * 500_000) + "\r\n" + ROW).encode(), Order)
    assert len(error.value.faults) == 50
