"""How often the law expects a thorough examination, by profile, device and use.

`interval` is what holds where no policy speaks, `longest` what a policy may at most set; None is no periodic duty.
"""

from typing import NamedTuple

from service.reference.citation import UNKNOWN, Citation

ROUTINE, OCCASIONAL, EMERGENCY, ESCAPE = "routine", "occasional", "emergency", "escape"
USES = (ROUTINE, OCCASIONAL, EMERGENCY, ESCAPE)
POWERED, NEGATIVE, AIRLINE, CYLINDER = "powered", "negative-pressure", "airline", "cylinder"
DEVICES = (POWERED, NEGATIVE, AIRLINE, CYLINDER)
WITHOUT_CYLINDER = (POWERED, NEGATIVE, AIRLINE)

# "At least monthly" and "never over three months where used only occasionally" are read in guidance that restates the
# approved code; regulation 9(3) itself, "at suitable intervals", is read. All respirators but disposable ones.
UK_MONTHLY = Citation("COSHH 2002 reg 9(3); L5 ACOP: at least once every month", "L5 6th edition, 2013", "second-hand")
UK_OCCASIONAL = Citation(
    "COSHH 2002 reg 9(3); L5 ACOP: where used only occasionally, never over three months",
    "L5 6th edition, 2013",
    "second-hand",
)
US_ROUTINE = Citation(
    "29 CFR 1910.134(h)(3)(i)(A): before each use and during cleaning, no periodic duty", "29 CFR", "second-hand"
)
US_EMERGENCY = Citation("29 CFR 1910.134(h)(3)(i)(B): at least monthly", "29 CFR", "second-hand")
US_ESCAPE = Citation(
    "29 CFR 1910.134(h)(3)(i)(C): before being carried into the workplace, no periodic duty", "29 CFR", "second-hand"
)
US_CYLINDER = Citation("29 CFR 1910.134(h)(3)(iii): monthly", "29 CFR", "memory-high")
EU_SCHEDULE = Citation("EN 529: a schedule after the maker's instructions, no interval", "EN 529:2005", "memory-medium")


class Examination(NamedTuple):
    """A duty, or the clause that sets none. `interval` and `longest` are ISO 8601 periods."""

    profile: str
    devices: tuple[str, ...]
    uses: tuple[str, ...]
    interval: str | None
    longest: str | None
    citation: Citation


EXAMINATIONS: tuple[Examination, ...] = (
    Examination("uk", DEVICES, (ROUTINE, EMERGENCY, ESCAPE), "P1M", "P1M", UK_MONTHLY),
    Examination("uk", DEVICES, (OCCASIONAL,), "P3M", "P3M", UK_OCCASIONAL),
    Examination("us", WITHOUT_CYLINDER, (ROUTINE, OCCASIONAL), None, None, US_ROUTINE),
    Examination("us", WITHOUT_CYLINDER, (EMERGENCY,), "P1M", "P1M", US_EMERGENCY),
    Examination("us", WITHOUT_CYLINDER, (ESCAPE,), None, None, US_ESCAPE),
    Examination("us", (CYLINDER,), USES, "P1M", "P1M", US_CYLINDER),
    Examination("eu", DEVICES, USES, None, None, EU_SCHEDULE),
    Examination("au-nz", DEVICES, USES, None, None, UNKNOWN),
    Examination("ca", DEVICES, USES, None, None, UNKNOWN),
)
