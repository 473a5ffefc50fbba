"""Seated: units with the site that they count at, of a component that of the unit it is fitted in (R51)."""

from collections.abc import Iterable, Sequence

from msgspec.structs import replace

from service.assessing.moment import Question
from service.assessing.recall_acts import hosts_of
from service.domain.unit import Unit


async def seated(question: Question, found: Sequence[Unit], kin: Iterable[Unit]) -> list[Unit]:
    """Give units, in their order, each component with the site of its unit; `kin` are all units of their kins."""
    components = [unit for unit in found if unit.fitted_to is not None]
    if not components:
        return [*found]
    hosts, units = await hosts_of(question, components), {unit.unit: unit for unit in kin}
    sites = {part: units[host].site for part, host in hosts.items() if host in units}
    return [replace(unit, site=sites.get(unit.unit, unit.site)) for unit in found]
