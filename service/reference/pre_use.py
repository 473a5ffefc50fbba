"""What the law says of the check before use, by profile and use. How long a check covers is our own choice."""

from typing import NamedTuple

from service.reference.citation import Citation
from service.reference.examination import EMERGENCY, ESCAPE, OCCASIONAL, ROUTINE, USES

UK_CHECKED = Citation("COSHH 2002 reg 9(5): checked at suitable intervals", "SI 2002/2677", "read")
US_EACH_USE = Citation("29 CFR 1910.134(h)(3)(i)(A): before each use and during cleaning", "29 CFR", "second-hand")
US_EMERGENCY = Citation(
    "29 CFR 1910.134(h)(3)(i)(B): function check before and after each use", "29 CFR", "second-hand"
)
US_ESCAPE = Citation("29 CFR 1910.134(h)(3)(i)(C): before being carried into the workplace", "29 CFR", "second-hand")
PRACTICE = Citation("the flow is read before each use", "common practice", "common-practice")


class PreUse(NamedTuple):
    """The clause that asks for a check before use."""

    profile: str
    uses: tuple[str, ...]
    citation: Citation


PRE_USES: tuple[PreUse, ...] = (
    PreUse("uk", USES, UK_CHECKED),
    PreUse("us", (ROUTINE, OCCASIONAL), US_EACH_USE),
    PreUse("us", (EMERGENCY,), US_EMERGENCY),
    PreUse("us", (ESCAPE,), US_ESCAPE),
    PreUse("eu", USES, PRACTICE),
    PreUse("au-nz", USES, PRACTICE),
    PreUse("ca", USES, PRACTICE),
)
