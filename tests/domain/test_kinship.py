"""What hangs together by serial numbers, before anybody says who is who."""

from typing import Any

import pytest

from service.domain.kin import fold_kin
from service.domain.kinship import brings, hangs_on
from tests.domain.folding import Folding
from tests.oracle.firm import HOOD, PACK, PLAIN, defined, register
from tests.oracle.posting import Posted, log, say

UNIT = register(serial=" s-1", model="pack")
COMPONENT = register(serial=" s-1", model="pack", tag="B-1", fitted_to="A-1")


def pack(received: str, **fields: Any) -> Posted:
    """Define the pack once more."""
    return defined("model-defined", received, **PACK | fields)


MORE = pack("2025-02-01 08:00", maker="Invented Masks", label="more")
WITHOUT = pack("2025-02-02 08:00", maker=None)
TAKEN_BACK = say("voided", "2025-03-01 08:00", "adm", event="@more", reason="typed wrong")
NAMESAKE = defined("model-defined", **HOOD | {"model": "twin", "maker": "pack"})


@pytest.mark.parametrize(
    ("told", "models"),
    [
        ([], {"hood", "pack"}),
        ([MORE], {"hood", "pack", "mask", "bare"}),
        ([MORE, TAKEN_BACK], {"hood", "pack", "mask", "bare"}),
        ([NAMESAKE], {"hood", "pack"}),
        ([NAMESAKE, WITHOUT], {"hood", "pack", "twin"}),
    ],
    ids=("as defined", "of another maker since", "taken back", "a maker called so", "without a maker"),
)
def test_it_may_be_a_unit_of_any_model_that_was_ever_of_one_maker(told: list[Posted], models: set[str]) -> None:
    """A registration asks by its own model, and brings what was registered as any that may be the same."""
    folding = Folding(log([*PLAIN, *told, UNIT]), [])
    event = folding.rows[-1].event
    assert hangs_on(event) == {"serial:pack/S-1"}
    assert brings(event, folding.world) == {f"serial:{model}/S-1" for model in models}


def test_a_component_asks_for_swaps_besides() -> None:
    """By its serial number a component is found as the unit it is and as the part it is."""
    folding = Folding(log([*PLAIN, register(), COMPONENT]), [])
    event = folding.rows[-1].event
    assert hangs_on(event) == {"serial:pack/S-1", "swap:S-1"}
    assert brings(event, folding.world) == {"serial:pack/S-1", "serial:hood/S-1", "component:S-1"}


def test_a_kin_remembers_a_registration_that_was_taken_back() -> None:
    """It may be restored, so that what is registered next hangs together with it all the same."""
    wrong = register(serial="s-1", label="wrong")
    folding = Folding(log([*PLAIN, wrong, say("voided", "2026-01-06 08:00", event="@wrong", reason="typed wrong")]), [])
    story = fold_kin(folding.rows[-2:], [], folding.world.fresh())
    assert (story.stories, "serial:hood/S-1" in story.asked.placing) == ((), True)
