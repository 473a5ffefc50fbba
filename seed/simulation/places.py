"""The sites of a simulation, their people, the two models of their units, and what defines all of it.

Everything is named after the run (`mark`), so that a simulation meets neither another nor the data of its host.
"""

from collections.abc import Iterator
from datetime import date, datetime, timedelta

import msgspec
from msgspec.structs import replace

from seed.book import Book
from seed.definitions import model_fields
from seed.models import BY_REF, Model
from seed.reference import site_fields
from seed.simulation.scale import Scale
from seed.sites import EARLY, SITES, WEEK, Site

RECORDS = "records"
WEARERS = 8
MODELS = ("ar-hood-2", "pe-half-1")
"""Of the demo's models a powered hood and a half mask without a fan."""
FOR_LONG = timedelta(days=90)


class Place(msgspec.Struct, frozen=True, kw_only=True):
    """A site: whoever keeps its store, leads it, examines, repairs, and those who wear its units."""

    site: Site
    keeper: str
    lead: str
    examiner: str
    technician: str
    wearers: tuple[str, ...]

    @property
    def kiosk(self) -> str:
        """Name the device at the store."""
        return f"{self.site.ref}-kiosk"

    @property
    def handheld(self) -> str:
        """Name the device that is carried about."""
        return f"{self.site.ref}-handheld"


def mark_of(moment: datetime) -> str:
    """Name a run by the millisecond of a moment."""
    return f"sim{int(moment.timestamp() * 1000):x}"


def places(mark: str, count: int) -> tuple[Place, ...]:
    """Give the sites, in the zones and under the laws of the demo's."""
    return tuple(_place(mark, number) for number in range(count))


def _place(mark: str, number: int) -> Place:
    ref = f"{mark}-s{number:03d}"
    like = SITES[number % len(SITES)]
    site = replace(like, ref=ref, code=ref, name=f"Site {number}", shifts=(EARLY,), added=(), working_days=WEEK)
    return Place(
        site=site,
        keeper=f"{ref}-keeper",
        lead=f"{ref}-lead",
        examiner=f"{ref}-examiner",
        technician=f"{ref}-technician",
        wearers=tuple(f"{ref}-w{one}" for one in range(WEARERS)),
    )


def models(mark: str) -> tuple[Model, ...]:
    """Give the models under names of the run."""
    return tuple(replace(BY_REF[ref], ref=f"{mark}-{ref}") for ref in MODELS)


def define(book: Book, scale: Scale, end: datetime, mark: str) -> None:
    """Write down what is posted before all else: models, sites, and who is competent there."""
    at = end - timedelta(days=scale.days) - FOR_LONG
    for kind, fields in _definitions(scale, at.date(), end.date(), mark):
        book.write(kind, at, f"{mark}-{RECORDS}", None, None, fields)


def _definitions(scale: Scale, since: date, until: date, mark: str) -> Iterator[tuple[str, dict[str, object]]]:
    years = range(since.year, until.year + 1)
    for model in models(mark):
        yield "model-defined", model_fields(model)
    for place in places(mark, scale.sites):
        yield "site-defined", site_fields(place.site, years, place.site.shifts)
        for person, competence in (
            (place.examiner, "examine"),
            (place.technician, "repair"),
            (place.lead, "release"),
        ):
            yield "trained", {"person": person, "competences": [competence]}
