"""Loosened rules in the summary: who answers for them, and why."""

from typing import Any
from uuid import UUID

import msgspec
import pytest

from service import assess
from service.assessing.places import Places
from service.ledger import Ledger
from service.store.connecting import connect
from service.store.erase_texts import erase_texts
from service.store.scope import set_organisation
from tests.oracle.firm import FIRM
from tests.oracle.posting import Posted, moment, say
from tests.use.posting import ORGANISATION, caller_of, post
from tests.use.test_waiting import named

USE = "0198c1f2-7a10-7c3e-9b55-0000000000a{}"
SUMMER = "worn on shutdowns only"


def registered(tag: str, site: str = "dock", **fields: Any) -> Posted:
    """Register a unit."""
    number = {"W-1": 1, "W-2": 2, "M-1": 3}[tag]
    ident = f"0198c1f2-7a10-7c3e-9b55-00000000000{number}"
    given = {"model": "hood", "serial": f"S-{tag}", "site": site} | fields
    return say("registered", "2026-03-02 06:00", asset=tag, id=ident, **given)


def use_set(number: int, at: str, use: str = "occasional", tag: str = "W-1", **more: Any) -> Posted:
    """Set the use of a unit."""
    given: dict[str, Any] = {"authorised_by": "m-1", "reason": SUMMER, "id": USE.format(number)} | more
    return say("use-set", at, asset=tag, use=use, **given)


async def told(ledger: Ledger, at: str, caller: str = "office", known_at: str | None = None) -> list[dict[str, Any]]:
    """Give the loosened rules of a summary that speak of units, as an answer writes them."""
    known = None if known_at is None else moment(known_at)
    summary = await assess.compliance(ledger, caller_of(caller), as_at=moment(at), known_at=known)
    rows: list[dict[str, Any]] = msgspec.json.decode(msgspec.json.encode(summary["loosened_rules"]))
    return [row for row in rows if row["asset"] is not None]


async def units(ledger: Ledger, at: str, caller: str = "office") -> list[tuple[str, int]]:
    """Name the units of occasional use and the number of what said so."""
    return [(row["asset"], int(row["event"][-1], 16)) for row in await told(ledger, at, caller)]


async def test_a_unit_of_occasional_use_shows_with_who_allowed_it_and_why(ledger: Ledger) -> None:
    """One line a unit: which rule asks less, where, by whom, with what reason, since when, because of which event."""
    await post(ledger, [*named(FIRM), registered("W-1"), use_set(1, "2026-03-03 08:00")])
    assert await told(ledger, "2026-03-04 08:00") == [
        {
            "subject": "asset:W-1",
            "rule": "thorough-examination",
            "asset": "W-1",
            "policy": None,
            "site": "dock",
            "model": "hood",
            "values": ["use"],
            "by": "m-1",
            "reason": SUMMER,
            "since": "2026-03-03T08:01:00Z",
            "event": USE.format(1),
            "because": [len(FIRM) + 2],
        }
    ]


@pytest.mark.parametrize(
    ("more", "at", "shown"),
    [
        ([], "2026-03-03 08:00", []),
        ([], "2026-03-03 08:01", [("W-1", 1)]),
        ([use_set(2, "2026-03-05 08:00", "routine")], "2026-03-05 07:59", [("W-1", 1)]),
        ([use_set(2, "2026-03-05 08:00", "routine")], "2026-03-05 08:00", []),
        ([use_set(2, "2026-03-05 08:00", reason="again")], "2026-03-05 09:00", [("W-1", 2)]),
        ([use_set(2, "2026-03-02 12:00", received="2026-03-06 08:00")], "2026-03-07 08:00", [("W-1", 1)]),
        ([say("retired", "2026-03-05 08:00", asset="W-1", reason="lost", id=USE.format(2))], "2026-03-06 08:00", []),
        (
            [say("retagged", "2026-03-05 08:00", asset="W-1", new_tag="W-9", id=USE.format(2))],
            "2026-03-06 08:00",
            [("W-9", 1)],
        ),
        (
            [say("voided", "2026-03-05 08:00", "p-2", event=USE.format(1), reason="slip", id=USE.format(2))],
            "2026-03-04 08:00",
            [],
        ),
        ([use_set(2, "2026-03-03 09:00", tag="W-2", key="kiosk-1")], "2026-03-04 08:00", [("W-1", 1)]),
        ([use_set(2, "2026-03-03 09:00", tag="W-2")], "2026-03-04 08:00", [("W-1", 1), ("W-2", 2)]),
    ],
    ids=[
        "not before its receipt",
        "from its receipt",
        "until routine",
        "not any more",
        "the newest",
        "not what another overtook",
        "retired",
        "retagged",
        "voided",
        "without authority",
        "each unit",
    ],
)
async def test_it_shows_as_long_as_it_bites(
    ledger: Ledger, more: list[Posted], at: str, shown: list[tuple[str, int]]
) -> None:
    """It bites from its receipt (R50) until another use is set, while the unit is in the firm's care."""
    first = use_set(1, "2026-03-03 08:00")
    await post(ledger, [*named(FIRM), registered("W-1"), registered("W-2"), first, *more])
    assert await units(ledger, at) == shown


async def test_it_shows_where_the_unit_is(ledger: Ledger) -> None:
    """A key bound to sites is shown the units of its sites alone, and an earlier knowledge knows nothing of it."""
    elsewhere = use_set(2, "2026-03-03 09:00", tag="M-1")
    await post(
        ledger, [*named(FIRM), registered("W-1"), registered("M-1", "mesa"), use_set(1, "2026-03-03 08:00"), elsewhere]
    )
    assert await units(ledger, "2026-03-04 08:00") == [("M-1", 2), ("W-1", 1)]
    assert await units(ledger, "2026-03-04 08:00", "lead") == [("W-1", 1)]
    now = await assess.compliance(ledger, caller_of("office"), as_at=None, known_at=None)
    known: Any = now["known_at"]
    await post(ledger, [use_set(3, "2026-03-03 10:00", "routine")])
    again = await assess.compliance(ledger, caller_of("office"), as_at=moment("2026-03-04 08:00"), known_at=known)
    rows: Any = again["loosened_rules"]
    assert [row.asset for row in rows if row.asset] == ["M-1", "W-1"]
    assert await units(ledger, "2026-03-04 08:00") == [("M-1", 2)]


async def test_a_reason_is_shown_until_it_is_erased(ledger: Ledger, owner_url: str) -> None:
    """The reasons of policies and uses are shown as given while they are kept, never as they are sealed."""
    values = {"cover": "P1D"}
    policy = say(
        "policy-set",
        "2026-03-03 07:00",
        "adm",
        policy="pre-use-check",
        scope={"organisation": True, "site": "dock"},
        values=values,
        reason="long shifts",
        id=USE.format(7),
    )
    await post(ledger, [*named(FIRM), registered("W-1"), use_set(1, "2026-03-03 08:00"), policy])

    async def reasons() -> list[str | None]:
        summary = await assess.compliance(
            ledger, caller_of("lead"), as_at=None, known_at=None, places=Places(site="dock")
        )
        rows: Any = summary["loosened_rules"]
        return [row.reason for row in rows if str(row.event)[-2:] in {"a1", "a7"}]

    assert await reasons() == ["long shifts", SUMMER]
    async with await connect(owner_url) as owner, owner.transaction():
        await set_organisation(owner, ORGANISATION)
        await erase_texts(owner, ORGANISATION, UUID(USE.format(1)))
    assert await reasons() == ["long shifts", None]
