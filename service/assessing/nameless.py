"""Records without names, as a worker representative reads them (design 5): no person is referred to, no text told.

What a unit went through, where it is and why it may not be used stays; who had it, and what anybody wrote, does not.
"""

from typing import Any

import msgspec

from service.domain.caller import Caller

WITHHELD = "withheld"
"""What stands where a person is referred to: a reference like any other, so that an answer keeps its form."""
PERSONS = frozenset({"by", "person", "wearer", "covered_wearer", "authorised_by", "device"})
"""The members of answers that refer to a person, wherever they stand: what a message was sent from has its owner."""
OF_THINGS = {"model-defined": frozenset({"device"})}
"""What is called alike in a kind and refers to nobody: the sort of unit that a model is."""


def without_names(caller: Caller) -> bool:
    """Say whether a key reads records without names."""
    return caller.role == "worker-representative"


def nameless(told: Any) -> Any:  # noqa: ANN401 -- any part of an answer
    """Give what is told with one word for every reference to a person: that there is one is still told."""
    if isinstance(told, dict):
        persons = PERSONS - OF_THINGS.get(told.get("kind", ""), frozenset())
        return {name: WITHHELD if name in persons and value else nameless(value) for name, value in told.items()}
    if isinstance(told, list | tuple):
        return [nameless(one) for one in told]
    return nameless(msgspec.to_builtins(told)) if isinstance(told, msgspec.Struct) else told
