"""The summary counts every site's units, and counts them by phase, as they are."""

from collections import Counter
from collections.abc import Iterable, Mapping

from seed.simulation.checks.asking import Asking, Found, Stated


async def check(asking: Asking, stated: Stated) -> Found:
    """Ask for the summary as it is now."""
    differences, count = await counted(asking, stated.story.truth.by_site(), stated.story.sites)
    return Found(what="sites in the summary: units, units by phase", count=count, differences=(*differences,))


async def counted(
    asking: Asking, true: Mapping[str, Counter[str]], sites: Iterable[str], **asked: str
) -> tuple[list[str], int]:
    """Compare the counts of sites with the true ones; give the differences, and how many sites there are."""
    told = {site["site"]: site for site in (await asking.get("/v1/compliance", **asked))["sites"]}
    when = f" as at {asked['as_at']}" if asked else ""
    differences: list[str] = []
    names = list(sites)
    for name in names:
        phases = true.get(name, Counter[str]())
        line = told.get(name, {"units": 0, "by_phase": {}})
        by_phase = Counter({phase: count for phase, count in line["by_phase"].items() if count})
        if line["units"] != phases.total():
            differences.append(f"{name}{when}: has {phases.total()} units, told are {line['units']}")
        if by_phase != phases:
            differences.append(f"{name}{when}: has {dict(phases)}, told is {dict(by_phase)}")
    return differences, len(names)
