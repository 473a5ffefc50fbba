"""When a unit must be cleaned, by profile and occasion."""

from typing import NamedTuple

from service.reference.citation import Citation

BETWEEN_WEARERS, EMERGENCY, TRAINING, FIT_TEST = "between-wearers", "emergency", "training", "fit-test"
OCCASIONS = (BETWEEN_WEARERS, EMERGENCY, TRAINING, FIT_TEST)

US_SHARED = Citation("29 CFR 1910.134(h)(1)(ii): before another wearer", "29 CFR", "read")
US_EMERGENCY = Citation("29 CFR 1910.134(h)(1)(iii): after each emergency use", "29 CFR", "read")
US_TRIED = Citation("29 CFR 1910.134(h)(1)(iv): after each fit test and training use", "29 CFR", "read")
PRACTICE = Citation("a respirator is cleaned before it changes wearers", "common practice", "common-practice")


class Cleaning(NamedTuple):
    """A duty to clean on an occasion."""

    profile: str
    occasions: tuple[str, ...]
    citation: Citation


CLEANINGS: tuple[Cleaning, ...] = (
    Cleaning("us", (BETWEEN_WEARERS,), US_SHARED),
    Cleaning("us", (EMERGENCY,), US_EMERGENCY),
    Cleaning("us", (TRAINING, FIT_TEST), US_TRIED),
    Cleaning("uk", OCCASIONS, PRACTICE),
    Cleaning("eu", OCCASIONS, PRACTICE),
    Cleaning("au-nz", OCCASIONS, PRACTICE),
    Cleaning("ca", OCCASIONS, PRACTICE),
)
