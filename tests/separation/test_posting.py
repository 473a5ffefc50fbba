"""Who may post which kind (R37): each kind by each role, refused before anything else is looked at."""

from datetime import UTC, datetime, timedelta
from uuid import uuid4

import pytest

from service.domain.caller import Role
from service.domain.kinds import KINDS
from tests.separation.world import Reader, World

ASSET = [
    "registered",
    "use-set",
    "issued",
    "returned",
    "stationed",
    "moved",
    "received",
    "sent-to-service",
    "worn",
    "checked",
    "failed-check",
    "failed-in-use",
    "examined",
    "filter-replaced",
    "part-replaced",
    "part-identified",
    "cleaned",
    "repaired",
    "quarantined",
    "missing",
    "found",
    "recall-actioned",
]
LEAD = ["released", "retired", "retagged"]
STOCK = ["stock-received", "stock-counted", "stock-moved", "stock-discarded"]
ORDERS = ["reorder-approved", "order-placed", "order-cancelled"]
PERSONS = ["trained", "fit-tested", "medically-cleared", "assigned", "authorisation-ended"]
RECALLS = ["recall-opened", "recall-closed"]
ABOUT = ["voided", "exception-acknowledged"]
REFERENCE = [f"{one}-defined" for one in ("site", "model", "item", "task", "instrument")] + ["policy-set"]
ALL = ASSET + LEAD + STOCK + ORDERS + PERSONS + RECALLS + ABOUT + REFERENCE

MAY: dict[Role, list[str]] = {
    "site-app": [*ASSET, "stock-counted", "stock-received", "stock-discarded"],
    "site-lead": ASSET + LEAD + STOCK + PERSONS + ABOUT,
    "manager": ASSET + LEAD + STOCK + ORDERS + PERSONS + RECALLS + ABOUT,
    "integrator": [*ORDERS, "stock-received"],
    "administrator": ALL,
}


ENDS = {"sent_at", "until", "valid_until"}
"""What examples say that is over, or will be, before what is posted here begins."""


def test_every_kind_is_in_the_table() -> None:
    """The table speaks of all kinds."""
    assert sorted(ALL) == sorted(kind.kind for kind in KINDS)


@pytest.mark.parametrize("role", MAY)
async def test_a_role_posts_its_kinds_alone(world: World, role: Role) -> None:
    """Of all kinds a role posts those that R37 gives it; any other is a 403 that names the kind.

    What is posted lies a day ahead, so that nothing of it is recorded; days that would end before it are left out.
    """
    tomorrow = (datetime.now(UTC) + timedelta(days=1)).isoformat()
    ahead = {"occurred_at": tomorrow, "asset": "NOBODY-S"}
    messages = [
        {name: value for name, value in kind.example.items() if name not in ENDS}
        | {name: value for name, value in ahead.items() if name in kind.example}
        | {"id": str(uuid4())}
        for kind in KINDS
    ]
    answered = await world.ask(Reader("ours", role), "POST", "/v1/events", json=messages)
    refused = {
        kind.kind
        for kind, result in zip(KINDS, answered.json()["results"], strict=True)
        if result["problem"]["type"] == "/problems/kind-not-allowed"
    }
    others = {result["problem"]["type"] for result in answered.json()["results"]} - {"/problems/kind-not-allowed"}

    assert others == {"/problems/in-the-future"}
    assert refused == set(ALL) - set(MAY[role])
