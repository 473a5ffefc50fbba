"""The rulebook: reference data as known, in its versions in time.

Built once from everything recorded up to some moment, then only asked. What a version means for a unit (`duties`) and
what loosens a rule (`loosened`) stand in files of their own.
"""

from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Iterator, Mapping
from datetime import date, timedelta
from functools import cached_property
from typing import Generic, Self, TypeVar
from zoneinfo import ZoneInfo

from service.domain.calendar import day_start, zone
from service.domain.event import ReferenceEvent
from service.domain.kinds.instrument_defined import InstrumentDefined
from service.domain.kinds.item_defined import ItemDefined
from service.domain.kinds.model_defined import ModelDefined
from service.domain.kinds.policy_set import PolicySet
from service.domain.kinds.site_defined import SiteDefined
from service.domain.kinds.task_defined import TaskDefined
from service.domain.policies import PolicyBook, Setting, policy_books, unset
from service.domain.recorded import Recorded
from service.domain.unaltered import altering
from service.domain.versions import Instant, Timeline, Version, version, zone_of
from service.domain.voiding import voidings

E = TypeVar("E", bound=ReferenceEvent)

UTC_ZONE = zone("UTC")


class Shelf(Generic[E]):
    """The timelines of all things of one kind, by reference."""

    __slots__ = ("timelines",)

    def __init__(self, kind: type[E], rows: Iterable[Recorded]) -> None:
        found: dict[str, list[Version[E]]] = {}
        for row in rows:
            if isinstance(row.event, kind):
                found.setdefault(row.event.subjects()[0], []).append(version(row.event, row))
        self.timelines = {subject: Timeline(versions) for subject, versions in found.items()}

    def at(self, subject: str, at: Instant) -> E | None:
        """Give the version that holds, None for what is not defined."""
        timeline = self.timelines.get(subject)
        return None if timeline is None else timeline.holding(at).event

    def altering(self) -> dict[str, list[Instant]]:
        """List of each thing where versions begin that alter it: the first holds for all earlier time."""
        return {subject: altering(timeline)[1:] for subject, timeline in self.timelines.items()}


class Rulebook:
    """Sites, models, items, tasks, instruments and policies, each by its own reference.

    `taken_back` are versions that say nothing any more but, of models that have no other left (`unmade`), what may sit
    in their units and who made them. `made` are the models that were ever said to be of a maker, be it taken back.
    """

    def __init__(self, rows: Iterable[Recorded], taken_back: Iterable[Recorded] = ()) -> None:
        standing, gone = list(rows), list(taken_back)
        self.sites = Shelf(SiteDefined, standing)
        self.models = Shelf(ModelDefined, standing)
        self.items = Shelf(ItemDefined, standing)
        self.tasks = Shelf(TaskDefined, standing)
        self.instruments = Shelf(InstrumentDefined, standing)
        self.unmade = {
            subject: timeline
            for subject, timeline in Shelf(ModelDefined, gone).timelines.items()
            if subject not in self.models.timelines
        }
        self.made: dict[str, set[str]] = {}
        for row in (*standing, *gone):
            if isinstance(row.event, ModelDefined):
                self.made.setdefault(row.event.made_by, set()).add(row.event.model)
        policies = (version(row.event, row) for row in standing if isinstance(row.event, PolicySet))
        self.policies: Mapping[str, PolicyBook] = policy_books(policies)

    @classmethod
    def build(cls, recorded: Iterable[Recorded]) -> Self:
        """Build from what is recorded: reference events and voidings, in any order; other kinds are passed over.

        A voided version never was (decision 7).
        """
        rows = list(recorded)
        voided = voidings(rows)
        said = [row for row in rows if isinstance(row.event, ReferenceEvent)]
        return cls((row for row in said if row.event.id not in voided), (row for row in said if row.event.id in voided))

    def site(self, ref: str | None, at: Instant) -> SiteDefined | None:
        """Give the site's version that holds at an instant."""
        return self.sites.at(f"site:{ref}", at)

    def model(self, ref: str | None, at: Instant) -> ModelDefined | None:
        """Give the model's version that holds at an instant."""
        return self.models.at(f"model:{ref}", at)

    def listing(self, ref: str, since: Instant, until: Instant) -> list[ModelDefined]:
        """Give the versions of a model in force at any moment from one to another, which list what sits in its units.

        Of a model that has no version left they are all those that were taken back.
        """
        subject = f"model:{ref}"
        timeline = self.models.timelines.get(subject)
        if timeline is not None:
            return [version.event for version in timeline.during(since, until)]
        unmade = self.unmade.get(subject)
        return [] if unmade is None else [version.event for version in unmade.ranked]

    def is_steady(self, ref: str) -> bool:
        """Say whether a model has one version, which lists what sits in its units at any time."""
        timeline = self.models.timelines.get(f"model:{ref}")
        return timeline is not None and len(timeline.versions) == 1

    def listings(self) -> Iterator[ModelDefined]:
        """Give every version of any model that may list what sits in its units."""
        for timeline in (*self.models.timelines.values(), *self.unmade.values()):
            yield from (version.event for version in timeline.ranked)

    def first_model(self, ref: str) -> ModelDefined | None:
        """Give the first version of a model."""
        timeline = self.models.timelines.get(f"model:{ref}")
        return None if timeline is None else timeline.versions[0].event

    def first_unmade(self, ref: str) -> ModelDefined | None:
        """Give the first version of a model that has none left."""
        timeline = self.unmade.get(f"model:{ref}")
        return None if timeline is None else timeline.versions[0].event

    def item(self, ref: str | None, at: Instant) -> ItemDefined | None:
        """Give the item's version that holds at an instant."""
        return self.items.at(f"item:{ref}", at)

    def task(self, ref: str | None, at: Instant) -> TaskDefined | None:
        """Give the task's version that holds at an instant."""
        return self.tasks.at(f"task:{ref}", at)

    def instrument(self, ref: str | None, at: Instant) -> InstrumentDefined | None:
        """Give the instrument's version that holds at an instant."""
        return self.instruments.at(f"instrument:{ref}", at)

    def zone(self, site: str | None, at: Instant) -> ZoneInfo:
        """Give the site's time zone at an instant; UTC where the site is not known."""
        found = self.site(site, at)
        return UTC_ZONE if found is None else zone_of(found)

    def zone_on(self, site: str | None, day: date) -> ZoneInfo:
        """Give the site's time zone in force as a day starts there (R40)."""
        timeline = self.sites.timelines.get(f"site:{site}")
        if timeline is None:
            return UTC_ZONE
        newest = bisect_right(timeline.starts, day_start(day, UTC_ZONE) + timedelta(days=1))
        for place in reversed(range(newest)):
            found = zone_of(timeline.versions[place].event)
            if timeline.starts[place] <= day_start(day, found):
                return found
        return zone_of(timeline.versions[0].event)

    def policy(self, name: str, at: Instant, site: str | None = None, model: str | None = None) -> Setting:
        """Give the values of a policy in force at a site for a model (R35)."""
        book = self.policies.get(name)
        return unset(name) if book is None else book.setting(at, site, model)

    def changes(self, refs: Iterable[str], since: Instant, until: Instant) -> list[Instant]:
        """List the instants after `since` and before `until` at which a version of any of the refs takes effect.

        Refs are "site:x", "model:y", "item:z", "task:t", "instrument:i" and "policy:name". The first version of a thing
        changes nothing, as it holds for all earlier time; the first policy of a scope does.
        """
        return _between(map(self._starts.get, refs), since, until)

    def alterations(self, refs: Iterable[str], since: Instant, until: Instant) -> list[Instant]:
        """List those of the changes at which units come to be judged by something else than just before."""
        return _between(map(self._altering.get, refs), since, until)

    @cached_property
    def kindred(self) -> dict[str, set[str]]:
        """Name for each model those that were ever said to be of a maker that it was said to be of, itself included."""
        found: dict[str, set[str]] = {}
        for models in self.made.values():
            for model in models:
                found.setdefault(model, set()).update(models)
        return found

    @cached_property
    def _starts(self) -> dict[str, list[Instant]]:
        starts = {f"policy:{name}": book.steps for name, book in self.policies.items()}
        for shelf in (self.sites, self.models, self.items, self.tasks, self.instruments):
            starts |= {subject: timeline.starts[1:] for subject, timeline in shelf.timelines.items()}
        return starts

    @cached_property
    def _altering(self) -> dict[str, list[Instant]]:
        starts = {
            f"policy:{name}": sorted({start for scope in book.scopes.values() for start in altering(scope)})
            for name, book in self.policies.items()
        }
        for shelf in (self.sites, self.models, self.items, self.tasks, self.instruments):
            starts |= shelf.altering()
        return starts


def _between(every: Iterable[list[Instant] | None], since: Instant, until: Instant) -> list[Instant]:
    found: set[Instant] = set()
    for starts in every:
        if starts:
            found.update(starts[bisect_right(starts, since) : bisect_left(starts, until)])
    return sorted(found)
