"""Who may end what: reports of failures, and events of other sites."""

from typing import Any
from uuid import UUID

import msgspec
import pytest

from service import assess
from service.assessing.log import Told
from service.domain.errors import Forbidden, NotFound
from service.ledger import Ledger
from service.record import Receipt, record
from service.resolve import dismiss, retry
from tests.oracle.firm import FIRM
from tests.oracle.posting import say
from tests.use.posting import caller_of, post
from tests.use.test_reports import AT, DESK, FAILURE, KIOSK, LEAD, OFFICE
from tests.use.test_waiting import named, unit

IDENT = "0198c1f2-7a10-7c3e-9b55-0000000001{:02x}"
WRONG = ["on-fire"]


async def sent(ledger: Ledger, sender: str, **changed: object) -> Receipt:
    """Report the failure, with something changed."""
    raw = msgspec.json.encode(FAILURE | changed)
    return (await record(ledger, caller_of(sender), [raw], received_at=AT, sent_at=AT))[0]


def kept(receipt: Receipt) -> UUID:
    """Give the rejected message that a message is kept as."""
    assert receipt.rejected is not None
    return receipt.rejected


async def reasons(ledger: Ledger) -> Any:
    """Say why the unit is not to be used now."""
    return (await assess.asset(ledger, OFFICE, "W-1", as_at=None, known_at=None))["reasons"]


async def test_a_report_ends_when_the_same_body_is_accepted(ledger: Ledger) -> None:
    """What one key could not post another can: then the failure itself counts, and nothing is left to resolve (R45)."""
    await post(ledger, [*named(FIRM), unit()])
    refused = await sent(ledger, "lead", site="mesa")
    assert (refused.status, await reasons(ledger)) == (403, ("unresolved-report",))
    accepted = await sent(ledger, "kiosk-1", site="mesa")
    assert (accepted.status, await reasons(ledger)) == (201, ("withdrawal",))
    told = await assess.rejected_one(ledger, OFFICE, kept(refused))
    assert (told["state"], told["accepted_seq"]) == ("accepted", accepted.seq)


async def test_a_report_does_not_end_with_another_body_of_its_id(ledger: Ledger) -> None:
    """Good news under the same id is recorded, and leaves the report of the failure to be resolved."""
    await post(ledger, [*named(FIRM), unit()])
    await sent(ledger, "kiosk-1", signs=WRONG)
    good = {"id": FAILURE["id"], "kind": "cleaned", "scope": "unit", "method": "wiped"}
    said = {name: value for name, value in FAILURE.items() if name != "signs"} | good
    receipt = (await record(ledger, KIOSK, [msgspec.json.encode(said)], received_at=AT, sent_at=AT))[0]
    assert (receipt.status, await reasons(ledger)) == (201, ("unresolved-report",))


async def test_trying_again_resolves_nothing_that_stays_wrong(ledger: Ledger) -> None:
    """Neither its sender nor another key ends a report by sending it again as it was."""
    await post(ledger, [*named(FIRM), unit()])
    rejected = kept(await sent(ledger, "lead", signs=WRONG))
    for caller in (LEAD, DESK, OFFICE):
        again = await retry(ledger, caller, rejected)
        assert (again.status, again.rejected, await reasons(ledger)) == (422, rejected, ("unresolved-report",))
    with pytest.raises(Forbidden):
        await dismiss(ledger, LEAD, rejected, "it was nothing")
    assert await reasons(ledger) == ("unresolved-report",)


@pytest.mark.parametrize(("home", "said", "allowed"), [("dock", "mesa", True), ("mesa", "dock", False)])
async def test_authority_is_that_of_the_site_the_unit_is_at(
    ledger: Ledger, home: str, said: str, allowed: bool
) -> None:
    """A lead of the dock settles reports about units at the dock, wherever their sender says it was, and no others."""
    await post(ledger, [*named(FIRM), unit()])
    if home == "mesa":
        await post(ledger, [say("received", "2026-03-02 07:00", asset="W-1", site="mesa", id=IDENT.format(1))])
    rejected = kept(await sent(ledger, "kiosk-1", signs=WRONG, site=said))
    if not allowed:
        with pytest.raises(NotFound):
            await dismiss(ledger, LEAD, rejected, "looked at")
        assert await reasons(ledger) == ("unresolved-report",)
        return
    assert (await dismiss(ledger, LEAD, rejected, "looked at"))["state"] == "dismissed"
    assert await reasons(ledger) == ()


@pytest.mark.parametrize(
    ("home", "site", "status"),
    [("dock", "dock", 201), ("dock", "mesa", 403), ("mesa", "mesa", 403), ("dock", None, 201), ("mesa", None, 403)],
)
async def test_nothing_is_voided_across_the_border_of_a_site(
    ledger: Ledger, home: str, site: str | None, status: int
) -> None:
    """A lead voids events of its sites; of one that names none, the site that its unit is at counts."""
    await post(ledger, [*named(FIRM), unit()])
    if home == "mesa":
        await post(ledger, [say("received", "2026-03-02 07:00", asset="W-1", site="mesa", id=IDENT.format(1))])
    where: dict[str, Any] = {} if site is None else {"site": site}
    cleaned = say("cleaned", "2026-03-02 08:00", asset="W-1", scope="unit", method="wiped", id=IDENT.format(2), **where)
    voided = say(
        "voided", "2026-03-02 09:00", "p-2", event=IDENT.format(2), reason="slip", id=IDENT.format(3), key="lead",
        site="dock",
    )  # fmt: skip
    receipts = await post(ledger, [cleaned, voided])
    assert [receipt.status for receipt in receipts] == [201, status]
    if status == 403:
        problem = receipts[1].problem
        assert problem is not None
        assert (problem.code, problem.errors[0].pointer) == ("site-not-allowed", "/event")


async def test_the_history_of_a_tag_used_again_is_that_of_its_new_unit(ledger: Ledger) -> None:
    """Once a retired unit's tag is another's, its history tells of the other alone; earlier it told of the first."""
    await post(
        ledger,
        [
            *named(FIRM),
            unit(),
            say("returned", "2026-03-02 08:00", asset="W-1", id=IDENT.format(1)),
            say("retired", "2026-03-03 08:00", asset="W-1", reason="lost", id=IDENT.format(2)),
        ],
    )
    before = await assess.asset(ledger, OFFICE, "W-1", as_at=None, known_at=None)
    fields: dict[str, Any] = {"asset": "W-1", "model": "hood", "site": "dock"}
    again = say("registered", "2026-03-04 08:00", serial="S-2", id=IDENT.format(3), **fields)
    cleaned = say("cleaned", "2026-03-05 08:00", asset="W-1", scope="unit", method="wiped", id=IDENT.format(4))
    late = say("returned", "2026-03-02 10:00", asset="W-1", id=IDENT.format(5), received="2026-03-06 08:00")
    await post(ledger, [again, cleaned, late])

    async def kinds(known_at: Any = None) -> list[tuple[object, object]]:
        page = await assess.history(ledger, OFFICE, "W-1", known_at=known_at, wanted=Told(), after=None, limit=50)
        return [(line["kind"], line["occurred_at"]) for line in page.items]

    assert await kinds() == [
        ("registered", "2026-03-04T08:00:00Z"),
        ("cleaned", "2026-03-05T08:00:00Z"),
    ]
    assert await kinds(before["known_at"]) == [
        ("registered", "2026-03-02T06:00:00Z"),
        ("returned", "2026-03-02T08:00:00Z"),
        ("retired", "2026-03-03T08:00:00Z"),
    ]
