"""Records without names: what a worker representative reads."""

from msgspec import inspect

from service.assessing.nameless import PERSONS
from service.domain.kinds import KINDS
from service.domain.words import REF_PATTERN
from tests.domain.strings import strings_in
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
    assert {event["device"] for event in told if "device" in event} == {"withheld"}


async def test_a_representative_reads_what_sort_of_unit_a_model_is(world: World) -> None:
    """A model's `device` is no one's: it is told, and who defined the model is not."""
    told = (await world.ask(REPRESENTATIVE, "GET", "/v1/models/northwind-2")).json()

    assert (told["device"], told["by"]) == ("powered", "withheld")


async def test_a_representative_reads_which_rules_are_loosened(world: World) -> None:
    """What is loosened is told without who answers for it and in which words."""
    told = (await world.ask(REPRESENTATIVE, "GET", "/v1/compliance")).json()["loosened_rules"]

    assert {(row["by"], row["reason"]) for row in told} == {("withheld", None)}
    assert {row["subject"] for row in told} == {"asset:DK-1", "asset:YD-1", "policy:pre-use-check"}


OF_NOBODY = {
    *("asset", "new_tag", "fitted_to", "model", "models", "setting", "position", "point", "points", "filter_loading"),
    *("item", "items", "battery_item", "unit", "instrument", "work", "task", "recall", "report", "proposal"),
    *("name", "site", "to_site", "place", "last_place", "vehicle", "provider", "supplier", "crew"),
}
"""References in events to what is no one person: things, places, firms, and a crew."""


def test_every_reference_in_events_is_known_to_be_to_a_person_or_not() -> None:
    """A new field that holds references is withheld, or listed here as one that refers to no one person."""
    found = {
        path.rpartition(".")[2].rstrip("[]{}")
        for kind in KINDS
        for path, string in strings_in(inspect.type_info(kind))
        if string.pattern == REF_PATTERN
    }

    assert found - OF_NOBODY == {"by", "person", "wearer", "authorised_by", "device"}
    assert found - PERSONS == OF_NOBODY
