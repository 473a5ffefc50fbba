"""Every unit stands as it should: phase, site, holder, and what is held against it."""

from collections.abc import Iterator
from typing import Any

from seed.simulation.checks.asking import Asking, Found, Stated, each
from seed.simulation.truth import Stands


async def check(asking: Asking, stated: Stated) -> Found:
    """Ask for every unit as it is now."""
    truth = stated.story.truth

    async def ask(tag: str) -> list[str]:
        return list(compared(tag, await asking.unit(tag), truth.now(tag)))

    return Found(what="units as they are now", count=len(truth.tags), differences=await each(truth.tags, ask))


def compared(what: str, told: dict[str, Any] | None, true: Stands) -> Iterator[str]:
    """Say what an answer about a unit tells otherwise than it is.

    A duty that is overdue forbids the use of a unit in hand, too; of that this truth knows nothing.
    """
    if told is None:
        yield f"{what}: is not there"
        return
    holder = (told["holder"] or {}).get("person")
    expected = {"phase": true.phase, "site": true.site, "holder": true.holder}
    for name, value in (("phase", told["phase"]), ("site", told["site"]), ("holder", holder)):
        if value != expected[name]:
            yield f"{what}: {name} is {expected[name]!r}, told is {value!r}"
    for reason, is_so in (("withdrawal", true.held), ("recheck", true.recheck), ("unresolved-report", False)):
        if (reason in told["reasons"]) != is_so:
            yield f"{what}: {reason} is {'' if is_so else 'not '}held against it, told are {told['reasons']}"
    forbidden = true.held or true.recheck
    if told["do_not_use"] != forbidden and (forbidden or true.holder is None):
        yield f"{what}: do_not_use is {forbidden}, told is {told['do_not_use']}"
