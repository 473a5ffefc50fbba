"""Records without names: what a worker representative reads."""

from tests.separation.firm import SITES
from tests.separation.world import Reader, World

REPRESENTATIVE = Reader("ours", "worker-representative")


async def test_a_representative_reads_that_somebody_has_a_unit(world: World) -> None:
    """Where a unit is and how it stands is told, and that somebody has it and wore it; who, is not."""
    unit = (await world.ask(REPRESENTATIVE, "GET", "/v1/assets/DK-1")).json()

    assert (unit["phase"], unit["site"], unit["standing"]) == ("issued", SITES["dock"], "overdue")
    assert (unit["holder"], unit["last_wearer"]["person"]) == ({"person": "withheld"}, "withheld")
    assert unit["last_wearer"]["at"] is not None


async def test_a_representative_reads_a_history_without_persons_and_texts(world: World) -> None:
    """Each event is told with what it says of the unit; persons are withheld, and free text is as if it was erased."""
    told = (await world.ask(REPRESENTATIVE, "GET", "/v1/assets/DK-1/history")).json()["events"]
    examined = next(event for event in told if event["kind"] == "examined")

    assert (examined["by"], examined["result"], examined["points"]["airflow"]) == ("withheld", "pass", "pass")
    assert examined["remark"].startswith("hmac-sha256:")
    assert {event["by"] for event in told} == {"withheld"}


async def test_a_representative_reads_which_rules_are_loosened(world: World) -> None:
    """What is loosened is told without who answers for it and in which words."""
    told = (await world.ask(REPRESENTATIVE, "GET", "/v1/compliance")).json()["loosened_rules"]

    assert {(row["by"], row["reason"]) for row in told} == {("withheld", None)}
    assert {row["subject"] for row in told} == {"asset:DK-1", "asset:YD-1", "policy:pre-use-check"}
