"""What a key that is bound to sites may define."""

from uuid import uuid4

import pytest

from tests.separation.firm import Sayings, ident, policy
from tests.separation.world import Reader, World

BOUND = Reader("ours", "administrator", "dock")


@pytest.mark.parametrize(
    ("fields", "status", "pointer"),
    [
        (policy({"cover": "PT20H"}, site="harrow-dock"), 201, None),
        (policy({"cover": "PT20H"}, site="east-yard"), 403, "#/scope"),
        (policy({"cover": "PT20H"}, model="northwind-2"), 403, "#/scope"),
        (policy({"cover": "PT20H"}), 403, "#/scope"),
    ],
    ids=("its own site", "another site", "a model everywhere", "the whole firm"),
)
async def test_a_key_of_a_site_sets_policies_for_it_alone(
    world: World, fields: dict[str, object], status: int, pointer: str | None
) -> None:
    """An administrator whose key is bound to a site sets no policy for another, nor for the whole firm."""
    said = Sayings("ours", "dock").say("policy", "policy-set", **fields) | {"id": str(uuid4()), "reason": "agreed"}
    answered = await world.ask(BOUND, "POST", "/v1/events", json=said)

    assert answered.status_code == status, answered.text
    assert [error["pointer"] for error in answered.json().get("errors", ())] == ([pointer] if pointer else [])


async def test_what_is_voided_elsewhere_is_not_told(world: World) -> None:
    """Who voids an event of another site is refused without being told which site that is."""
    said = Sayings("ours", "dock", "harrow-dock").say("slip", "voided", event=ident("yard stock"), reason="a slip")
    answered = await world.ask(Reader("ours", "site-lead", "dock"), "POST", "/v1/events", json=said)

    assert answered.status_code == 403
    detail = "This key may not post beyond its sites: post it with a key that is bound to that site."
    assert answered.json()["errors"] == [{"detail": detail, "pointer": "#/event"}]
    assert "yard" not in answered.text
