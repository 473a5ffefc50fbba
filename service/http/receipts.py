"""What a sender is told of each message it posted."""

from collections import Counter
from collections.abc import Mapping, Sequence

from litestar.enums import HttpMethod

from service.http.answers import Answer, answer
from service.http.position import position_of
from service.http.problems import refusal
from service.http.request import Asked, note
from service.problems import FAILED, described
from service.record import Receipt

#: What can become of a message, as the log and the end of a stream count it.
OUTCOMES = ("recorded", "repeated", "rejected")

FAULTY = "faulty"
"""What is noted with a request in which the service failed at a message: its answer is not for good."""


def receipt_answer(request: Asked, receipt: Receipt, headers: Mapping[str, str] | None = None) -> Answer:
    """Answer a single message: 201 recorded, 200 repeated, else its problem; `headers` go with what is recorded.

    What is put is 201 where there was nothing before, else 200, and is read where it was put (RFC 9110 section 9.3.4).
    """
    noted(request, [receipt])
    if receipt.problem is not None:
        return refusal(receipt.problem, kept(receipt))
    location = {"Location": f"/v1/events/{receipt.id}"} if made_elsewhere(request, receipt) else {}
    more = location | position_of([receipt]) | dict(headers or {})
    return answer(told(receipt), status=receipt.status, headers=more)


def made_elsewhere(request: Asked, receipt: Receipt) -> bool:
    """Say whether something was made that is read at another address."""
    return receipt.outcome == "recorded" and request.method == HttpMethod.POST


def batch_answer(request: Asked, receipts: Sequence[Receipt]) -> Answer:
    """Answer a batch: 207 with one result per message in the order they came, whatever became of them."""
    noted(request, receipts)
    results = [result(receipt) for receipt in receipts]
    return answer({"results": results}, status=207, headers=position_of(receipts))


def result(receipt: Receipt) -> dict[str, object]:
    """Tell one message of a batch with the status it would have had alone."""
    head = {"id": receipt.id, "status": receipt.status}
    if receipt.problem is not None:
        return {**head, "problem": described(receipt.problem), **kept(receipt)}
    return head | told(receipt)


def told(receipt: Receipt) -> dict[str, object]:
    """Tell a recorded message: its place in the log, its conflicts then, and the unit as it is now."""
    return {
        "id": receipt.id,
        "seq": receipt.seq,
        "recorded_at": receipt.recorded_at,
        "outcome": receipt.outcome,
        "conflicts": receipt.conflicts,
        "asset": receipt.asset,
    }


def kept(receipt: Receipt) -> dict[str, object]:
    """Name the rejected message that a refused one is kept as."""
    return {} if receipt.rejected is None else {"rejected": receipt.rejected}


def noted(request: Asked, receipts: Sequence[Receipt]) -> None:
    """Count the outcomes for the log, those that there were none of too."""
    found = Counter(outcome(receipt) for receipt in receipts)
    note(request, {word: found[word] for word in OUTCOMES})
    if any(receipt.problem == FAILED for receipt in receipts):
        request.scope["state"][FAULTY] = True


def outcome(receipt: Receipt) -> str:
    """Say in a word what became of a message."""
    return receipt.outcome or "rejected"
