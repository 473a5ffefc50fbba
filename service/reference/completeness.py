"""Every row that a profile needs, gathered from the tables: a profile is complete where all of them are `read`.

A table that comes later adds its rows here.
"""

from service.reference.citation import Row
from service.reference.cleaning import CLEANINGS
from service.reference.competence import COMPETENCES
from service.reference.examination import DEVICES, EXAMINATIONS
from service.reference.pre_use import PRE_USES
from service.reference.record_contents import PARTICULARS

PROFILES = ("uk", "us", "eu", "au-nz", "ca")


def _devices(devices: tuple[str, ...]) -> str:
    return "" if devices == DEVICES else f" ({', '.join(devices)})"


ROWS: tuple[Row, ...] = (
    *(
        Row(row.profile, f"thorough-examination: {', '.join(row.uses)}{_devices(row.devices)}", row.citation)
        for row in EXAMINATIONS
    ),
    *(Row(row.profile, f"pre-use-check: {', '.join(row.uses)}", row.citation) for row in PRE_USES),
    *(Row(row.profile, f"cleaning: {', '.join(row.occasions)}", row.citation) for row in CLEANINGS),
    *(Row(row.profile, f"record-content: {row.text}{_devices(row.devices)}", row.citation) for row in PARTICULARS),
    *(Row(row.profile, f"competence: {', '.join(row.acts)}", row.citation) for row in COMPETENCES),
)
