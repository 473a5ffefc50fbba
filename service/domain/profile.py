"""What a jurisdiction asks for, read from the reference tables: duties, clauses, and how far the facts are known."""

from functools import cache

import msgspec

from service.domain.period import Period
from service.domain.standing import Source
from service.reference.citation import UNKNOWN, Citation
from service.reference.cleaning import CLEANINGS
from service.reference.competence import COMPETENCES
from service.reference.completeness import ROWS
from service.reference.examination import DEVICES, EXAMINATIONS, USES, Examination
from service.reference.pre_use import PRE_USES
from service.reference.record_contents import PARTICULARS, Particular

NO_DUTY = Examination("", DEVICES, USES, None, None, UNKNOWN)

_EXAMINATIONS = {(row.profile, device, use): row for row in EXAMINATIONS for device in row.devices for use in row.uses}
_PRE_USES = {(row.profile, use): row.citation for row in PRE_USES for use in row.uses}
_CLEANINGS = {(row.profile, occasion): row.citation for row in CLEANINGS for occasion in row.occasions}
_COMPETENCES = {(row.profile, act): row.citation for row in COMPETENCES for act in row.acts}


class Profile(msgspec.Struct, frozen=True):
    """A jurisdiction: complete only where every row it needs was read in the text itself, else what is missing."""

    name: str
    complete: bool
    missing: tuple[str, ...]


class Examining(msgspec.Struct, frozen=True):
    """How often a law expects a thorough examination; without an interval it sets no periodic duty.

    `longest` is the most that a policy may set.
    """

    interval: Period | None
    longest: Period | None
    source: Source


def source(citation: Citation) -> Source:
    """Give a citation in the form of an answer."""
    return Source(citation.clause, citation.edition, citation.status)


@cache
def examining(profile: str | None, device: str, use: str) -> Examining:
    """Give the duty to examine; where the profile is not known, none."""
    row = _EXAMINATIONS.get((profile or "", device, use), NO_DUTY)
    return Examining(
        interval=None if row.interval is None else Period.parse(row.interval),
        longest=None if row.longest is None else Period.parse(row.longest),
        source=source(row.citation),
    )


@cache
def checking(profile: str | None, use: str) -> Source:
    """Give the clause that asks for a check before use."""
    return source(_PRE_USES.get((profile or "", use), UNKNOWN))


@cache
def cleaning(profile: str | None, occasion: str) -> Source:
    """Give the clause that asks for cleaning on an occasion."""
    return source(_CLEANINGS.get((profile or "", occasion), UNKNOWN))


@cache
def competence(profile: str | None, act: str) -> Source:
    """Give the clause that says who may examine, repair or release."""
    return source(_COMPETENCES.get((profile or "", act), UNKNOWN))


@cache
def particulars(profile: str | None, device: str, use: str) -> tuple[Particular, ...]:
    """List what the record of an examination must hold."""
    return tuple(row for row in PARTICULARS if row.profile == profile and device in row.devices and use in row.uses)


@cache
def profile(name: str) -> Profile:
    """Say how far the facts of a jurisdiction are known. KeyError for one that the tables do not know."""
    rows = [row for row in ROWS if row.profile == name]
    if not rows:
        raise KeyError(name)
    missing = tuple(f"{row.what} [{row.citation.status}]" for row in rows if row.citation.status != "read")
    return Profile(name, not missing, missing)
