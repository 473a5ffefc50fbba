"""Who may examine, repair and release, by profile. Competence is asked for also where no clause is on record."""

from typing import NamedTuple

from service.reference.citation import OWN, Citation

EXAMINE, REPAIR, RELEASE = "examine", "repair", "release"
ACTS = (EXAMINE, REPAIR, RELEASE)

UK_WORK = Citation(
    "COSHH 2002 reg 12(4): suitable information, instruction and training", "SI 2002/2677", "memory-high"
)
US_REPAIR = Citation(
    "29 CFR 1910.134(h)(4)(i)-(ii): trained persons, parts approved for the unit", "29 CFR", "second-hand"
)


class Competence(NamedTuple):
    """The clause that says who may do an act."""

    profile: str
    acts: tuple[str, ...]
    citation: Citation


COMPETENCES: tuple[Competence, ...] = (
    Competence("uk", (EXAMINE, REPAIR), UK_WORK),
    Competence("uk", (RELEASE,), OWN),
    Competence("us", (REPAIR,), US_REPAIR),
    Competence("us", (EXAMINE, RELEASE), OWN),
    Competence("eu", ACTS, OWN),
    Competence("au-nz", ACTS, OWN),
    Competence("ca", ACTS, OWN),
)
