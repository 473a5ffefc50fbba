"""The world a unit is judged in: reference data, people's competences, recalls, and the roles of keys, as known.

Whatever is asked, defined or not, is remembered, so that a unit is judged again when it changes.
"""

from bisect import bisect_right
from collections.abc import Iterable, Mapping
from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING
from uuid import UUID
from zoneinfo import ZoneInfo

from service.domain.calendar import local_day
from service.domain.caller import KeyHolder
from service.domain.duties import clock_tolerance
from service.domain.fitting import as_stated
from service.domain.kinds.instrument_defined import InstrumentDefined
from service.domain.kinds.model_defined import ModelDefined
from service.domain.people import Act, People
from service.domain.recall.bearing import bearing, speaking
from service.domain.recall.listing import APART, Listing, listing_of
from service.domain.recall.opening import Openings
from service.domain.rulebook import Rulebook
from service.domain.standing import BEGINNING, FOREVER
from service.domain.terms import Terms, refs_of, terms_at
from service.domain.traced import Traced
from service.domain.unit import Unit, use_of

if TYPE_CHECKING:
    from service.domain.facts import Fact


class World:
    """Reference data, people and keys, and what was asked of them (`asked`: "model:m", "examine:p-3071")."""

    def __init__(
        self,
        rulebook: Rulebook,
        people: People,
        keys: Mapping[UUID, KeyHolder],
        recalls: Openings | None = None,
        rehearsed: Openings | None = None,
    ) -> None:
        self.recalls = recalls or Openings()
        self.rehearsed = rehearsed or Openings()
        self.rulebook = Traced(rulebook)
        self._plain = rulebook
        self._people = people
        self._keys = keys
        self._turns = turns_of(rulebook)
        self._own_turns: dict[tuple[str, str], list[datetime]] = {}
        self._terms: dict[tuple[str, str, str, int], Terms] = {}
        self._zones: dict[tuple[str, date], ZoneInfo] = {}
        self._listings: dict[tuple[int, ...], Listing] = {}
        self._steady: dict[str, Listing] = {}

    @property
    def asked(self) -> set[str]:
        """Give everything that was asked for so far."""
        return self.rulebook.asked

    def fresh(self) -> "World":
        """Give the same world with nothing asked yet; what was worked out is shared."""
        again = object.__new__(World)
        again.__dict__ = {**self.__dict__, "rulebook": Traced(self._plain)}
        return again

    def ask_again(self, refs: Iterable[str]) -> None:
        """Note that an answer rests on what was asked before."""
        self.rulebook.asked.update(refs)

    def turn(self, at: datetime) -> int:
        """Give the number of the stretch a moment lies in: between two turns no version of anything begins."""
        return bisect_right(self._turns, at)

    def cuts(self, unit: Unit, since: datetime, until: datetime) -> list[datetime]:
        """List the moments between at which a version begins that alters anything a unit is judged by.

        One that says what held already is none: no unit is judged again for it, so nothing told may rest on it. What
        it was registered as before lists what may sit in it, too. All of it is noted as asked, since a version that is
        recorded later would cut time anew, though no rule looks at it now.
        """
        items = {f"item:{fitted.part.item}" for fitted in unit.parts.values() if fitted.part is not None}
        refs = items | {f"model:{model}" for model in unit.former} | refs_of(unit.site, unit.model)
        self.rulebook.asked.update(refs | {APART} if unit.several else refs)
        nearest = bisect_right(self._turns, since)
        if nearest == len(self._turns) or self._turns[nearest] >= until:
            return []
        return self._plain.alterations(refs, since, until)

    def terms(self, unit: Unit, at: datetime) -> Terms:
        """Give what holds for the unit at the moment."""
        where, use = (unit.site, unit.model), use_of(unit)
        turns = self._own_turns.get(where)
        if turns is None:
            turns = self._own_turns[where] = self._plain.changes(refs_of(*where), BEGINNING, FOREVER)
        key = (*where, use, bisect_right(turns, at))
        found = self._terms.get(key)
        if found is None:
            found = self._terms[key] = terms_at(self._plain, at, *where, use)
        self.ask_again(found.refs)
        return found

    def model(self, ref: str, at: datetime) -> ModelDefined | None:
        """Give the model's version in force."""
        return self.rulebook.model(ref, at)

    def maker(self, model: str) -> str:
        """Give the maker that identifies a unit: of the model's first version; without one the model stands for it.

        Of a model that has no version left it is that of the first that was taken back: else its units were other ones
        from then on, without a history, and what is held against them was held against nothing that can be scanned.
        """
        first = self.rulebook.first_model(model) or self._plain.first_unmade(model)
        return model if first is None else first.made_by

    def kindred(self, model: str) -> set[str]:
        """Name the models whose units may be those of a model: they were ever said to be of one maker."""
        return self._plain.kindred.get(model, {model})

    def made_by(self, maker: str) -> set[str]:
        """Name the models that were ever said to be of a maker."""
        return self._plain.made.get(maker, set())

    def instrument(self, ref: str, at: datetime) -> InstrumentDefined | None:
        """Give the instrument's version in force."""
        return self.rulebook.instrument(ref, at)

    def zone(self, site: str, at: datetime) -> ZoneInfo:
        """Give the site's time zone in force at the moment; UTC where the site is not known."""
        return self.rulebook.zone(site, at)

    def zone_on(self, site: str, day: date) -> ZoneInfo:
        """Give the site's time zone in force on a day."""
        found = self._zones.get((site, day))
        if found is None:
            found = self._zones[site, day] = self._plain.zone_on(site, day)
        self.rulebook.asked.add(f"site:{site}")
        return found

    def day(self, at: datetime, site: str) -> date:
        """Give the local day of a moment at a site."""
        return local_day(at, self.zone(site, at))

    def day_of(self, fact: "Fact", unit: Unit) -> date:
        """Give the calendar day of an act where it was done: at its own site, else where the unit is."""
        return fact.event.occurred_on or self.day(fact.at, fact.event.site or unit.site)

    def tolerance(self, site: str, at: datetime) -> timedelta:
        """Give how far a sender's clock may be off before its bad news is suspect."""
        return clock_tolerance(self.rulebook, at, site)

    def may(self, competence: str, fact: "Fact", unit: Unit) -> bool:
        """Say whether who acted has the competence on record at the moment of the act."""
        person = fact.event.by
        self.rulebook.asked.add(f"{competence}:{person}")
        return self._people.may(person, competence, Act(fact.key, self.day_of(fact, unit), unit.model))

    def listing(self, unit: Unit, at: datetime) -> Listing:
        """Give what its models have listed at any time from a unit's registration to a moment: it may still sit there.

        It is not noted as asked: units that no recall reaches are the same with it, and every fold asks for each model
        that a unit is registered as.
        """
        if not unit.former and unit.model in self._steady:
            return self._steady[unit.model]
        versions = self._plain.listing(unit.model, unit.registered_at, at)
        versions += [one for model in unit.former for one in self._plain.listing(model, unit.registered_at, at)]
        key = tuple([id(version) for version in versions])  # they live as long as their world
        found = self._listings.get(key)
        if found is None:
            found = self._listings[key] = listing_of(versions)
        if not unit.former and self._plain.is_steady(unit.model):
            self._steady[unit.model] = found
        return found

    def listing_by(self, unit: Unit, at: datetime) -> Listing:
        """Give the same of a moment in a unit's fold: before its registration what is listed by then.

        Of the positions that its registration tells of it says itself what was there.
        """
        listing = self.listing(unit, max(at, unit.registered_at))
        told = {one.position for one in unit.stated}
        return {position: items for position, items in listing.items() if position not in told} if told else listing

    def openings_on(self, unit: Unit, at: datetime) -> dict[UUID, str]:
        """Give the openings before a moment that a unit, as it is then, comes under, each with its recall."""
        if not self.recalls.begun(at):
            return {}
        openings = bearing(unit, self.listing_by(unit, at), self.recalls)
        return {opening.event: opening.recall for opening in openings if opening.at < at}

    def recalls_of(self, unit: Unit, at: datetime, *, registered: bool = True) -> set[str]:
        """Name the recalls and rehearsals opened before a moment that speak of a unit as it is then.

        Whatever was done about them. What its registration states of it was there before; of what is registered by this
        (not `registered` yet) nothing has gone but what was said before.
        """
        begun = [openings for openings in (self.recalls, self.rehearsed) if openings.begun(at)]
        listing = self.listing_by(unit, at) if begun and registered else {}
        there = as_stated(unit) if registered else unit
        found = (opening for openings in begun for opening in speaking(there, listing, openings))
        return {opening.recall for opening in found if opening.at < at}

    def key(self, key: UUID) -> KeyHolder | None:
        """Give what a key is bound to, None for one not known."""
        return self._keys.get(key)


def turns_of(rulebook: Rulebook) -> tuple[datetime, ...]:
    """List every instant at which a version of anything takes effect that units are judged by."""
    shelves = (rulebook.sites, rulebook.models, rulebook.items)
    starts = {start for shelf in shelves for timeline in shelf.timelines.values() for start in timeline.starts[1:]}
    return tuple(sorted(starts.union(*(book.steps for book in rulebook.policies.values()))))
