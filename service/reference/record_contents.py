"""What the record of an examination must hold, by profile, device and use."""

from typing import NamedTuple

from service.reference.citation import UNKNOWN, Citation
from service.reference.examination import AIRLINE, CYLINDER, DEVICES, EMERGENCY, POWERED, USES

UK_RECORD = Citation("COSHH 2002 reg 9(4); L5 para 184", "L5 6th edition, 2013", "read")
US_RECORD = Citation("29 CFR 1910.134(h)(3)(iv)(A)", "29 CFR", "second-hand")


class Particular(NamedTuple):
    """One particular of the record; `number` is its place in the clause's list."""

    profile: str
    number: int
    name: str
    text: str
    devices: tuple[str, ...]
    uses: tuple[str, ...]
    citation: Citation


def _uk(number: int, name: str, text: str, devices: tuple[str, ...] = DEVICES) -> Particular:
    return Particular("uk", number, name, text, devices, USES, UK_RECORD)


def _us(number: int, name: str, text: str) -> Particular:
    return Particular("us", number, name, text, DEVICES, (EMERGENCY,), US_RECORD)


def _unknown(profile: str) -> Particular:
    return Particular(profile, 0, "unknown", "particulars of the record", DEVICES, USES, UNKNOWN)


PARTICULARS: tuple[Particular, ...] = (
    _uk(1, "employer", "name and address of the employer"),
    _uk(2, "equipment", "particulars of the equipment, its distinguishing number or mark, a description and the maker"),
    _uk(3, "examiner", "date of the examination, name and signature or other identification of the examiner"),
    _uk(4, "condition", "condition and particulars of any defect, with the state of the canister or filter"),
    _uk(5, "cylinder-pressure", "pressure of air in the cylinder", (CYLINDER,)),
    _uk(6, "volume-flow", "volume flow, showing at least the maker's minimum", (POWERED, AIRLINE, CYLINDER)),
    _us(1, "date", "date of the inspection"),
    _us(2, "inspector", "name or signature of the inspector"),
    _us(3, "findings", "findings of the inspection"),
    _us(4, "remedial-action", "remedial action required"),
    _us(5, "identification", "serial number or other identification of the unit"),
    _unknown("eu"),
    _unknown("au-nz"),
    _unknown("ca"),
)
