"""Which answer to an order a text is, told by itself: UBL by its root, a table by columns that no other answer has."""

from itertools import chain
from typing import Final

from service.outbound.ubl.documents import DespatchAdvice, OrderResponse, ReceiptAdvice
from service.outbound.ubl.parsing import parsed, refuse
from service.outbound.ubl.reading import Reading, is_root, read_root
from service.outbound.ubl.sheet import columns, read_rows, rows_of
from service.outbound.ubl.table import URN

Answer = OrderResponse | DespatchAdvice | ReceiptAdvice

TELLING: Final[dict[type[Answer], str]] = {
    OrderResponse: "order",
    DespatchAdvice: "line.despatched.value",
    ReceiptAdvice: "line.received.value",
}
"""The answers, each with a column of its own that its tables mostly have."""


def read_answer(body: bytes) -> Reading[Answer]:
    """Read an answer in UBL. TooLarge, or BadDocument with all that is wrong with it."""
    root = parsed(body)
    wanted = next((sort for sort in TELLING if is_root(root, sort)), None)
    if wanted is None:
        roots = ", ".join(f"{sort.__name__} in {URN}{sort.__name__}-2" for sort in TELLING)
        refuse(f"is none that is read here: its root must be one of UBL 2.1, {roots}")
    return read_root(root, wanted)


def read_answer_sheet(body: bytes) -> Reading[Answer]:
    """Read an answer from a table, as that of whose own columns it has most. TooLarge, BadDocument."""
    rows = rows_of(body)
    counts = {sort: len(own(sort).intersection(rows[0][1])) for sort in TELLING}
    most = max(counts.values())
    found = [sort for sort, count in counts.items() if count == most]
    if not most or len(found) > 1:
        told = ", ".join(f"{column!r} is of {sort.__name__}" for sort, column in TELLING.items())
        refuse(f"does not say by its columns what it is: {told}")
    return read_rows(rows, found[0])


def own(sort: type[Answer]) -> frozenset[str]:
    """Name the columns that an answer has and no other."""
    others = chain.from_iterable(columns(one) for one in TELLING if one is not sort)
    return frozenset(name for name, _ in columns(sort)) - {name for name, _ in others}
