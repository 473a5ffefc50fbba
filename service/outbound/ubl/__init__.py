"""Orders, responses to them, despatches and receipts: as values, as UBL 2.1 (ISO/IEC 19845:2015), and as tables (CSV).

    documents.py   what the four say                     parts.py    what they are made of
    table.py       where each of it stands in UBL        money.py    how amounts are written
    writing.py     a document as XML                     node.py     an element as it was read
    parsing.py     XML to elements, safely               reading.py  elements to a document
    sheet.py       a document as a table, and back

Nothing here is sent, fetched or stored.
"""
