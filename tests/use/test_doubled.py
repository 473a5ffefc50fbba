"""Messages in which a member stands twice: none of the two is believed, and the worse one is feared."""

from uuid import UUID

import msgspec
import pytest

from service import assess
from service.ledger import Ledger
from service.record import Receipt, record
from tests.oracle.firm import FIRM
from tests.use.posting import post
from tests.use.test_reports import AT, FAILURE, KIOSK, OFFICE
from tests.use.test_waiting import named, unit

CHECK: dict[str, object] = {"kind": "checked", "points": {}, "signs": None}


async def posted(ledger: Ledger, more: bytes, **changed: object) -> Receipt:
    """Post a message with something more at its end."""
    await post(ledger, [*named(FIRM), unit()])
    said = {name: value for name, value in (FAILURE | changed).items() if value is not None}
    raw = msgspec.json.encode(said)[:-1] + more + b"}"
    return (await record(ledger, KIOSK, [raw], received_at=AT, sent_at=AT))[0]


@pytest.mark.parametrize(
    ("more", "changed"),
    [
        (b',"kind":"cleaned"', {}),
        (b',"kind":"failed-in-use"', {"kind": "cleaned"}),
        (b',"points":{"airflow":"pass"}', {**CHECK, "points": {"airflow": "fail"}}),
        (b',"points":{"airflow":"fail","airflow":"pass"}', {**CHECK, "points": None}),
        (b',"airflow_indicator":"above","airflow_indicator":"below"', CHECK),
        (b',"result":"fail","result":"pass"', {**CHECK, "kind": "examined"}),
    ],
)
async def test_what_may_be_bad_news_by_one_of_two_readings_withdraws(
    ledger: Ledger, more: bytes, changed: dict[str, object]
) -> None:
    """The message is kept as a report of a failure of its unit, whichever of the two stands last."""
    receipt = await posted(ledger, more, **changed)
    assert (receipt.status, receipt.problem is not None and receipt.problem.code) == (422, "malformed")
    kept = await assess.rejected_one(ledger, OFFICE, receipt.rejected or UUID(int=0))
    assert (kept["adverse"], kept["asset"]) == (True, "W-1")
    told = await assess.asset(ledger, OFFICE, "W-1", as_at=None, known_at=None)
    assert (told["do_not_use"], told["reasons"]) == (True, ("unresolved-report",))


async def test_good_news_that_stands_twice_is_kept_and_withdraws_nothing(ledger: Ledger) -> None:
    """A passing check that names its wearer twice is refused by that name, and its unit stays as it was."""
    receipt = await posted(ledger, b',"wearer":"p-1","wearer":"p-2"', **CHECK | {"points": {"airflow": "pass"}})
    assert receipt.problem is not None
    assert [fault.pointer for fault in receipt.problem.errors] == ["/wearer"]
    kept = await assess.rejected_one(ledger, OFFICE, receipt.rejected or UUID(int=0))
    assert (kept["adverse"], kept["state"]) == (False, "open")
    told = await assess.asset(ledger, OFFICE, "W-1", as_at=None, known_at=None)
    assert (told["do_not_use"], told["reasons"]) == (False, ())
