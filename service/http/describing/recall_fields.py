"""What each member of answers about recalls says: one sentence for a name, or for a name in one shape alone.

Only sentences may live here.
"""

from typing import Final

UNDER: Final = "of those that came under the recall since it was opened."

#: Of all units, and of those of a site.
COUNTED: Final[dict[str, str]] = {
    "units": "Units that it speaks of or once spoke of. Each is affected, remedied, or was so only once.",
    "affected": "Units with something under the recall now, retired ones and those of which it cannot be "
    "known included.",
    "certain": "Of those affected, the units of which it is known.",
    "once": "Units that had something it names before it was opened, or where it turned out by then to be another: "
    "nothing is to be done about them.",
    "located": f"Units that somebody has had in hand since, as their events tell, {UNDER} One that is "
    "missing now is not among them.",
    "stopped": f"Units that were quarantined for this recall, if only from a desk, {UNDER}",
    "put_away": "Units that are quarantined and in nobody's hands now: with a place, returned, or in store by "
    f"the records, {UNDER} Ordered is not put away. In a rehearsal it is enough to be in store and located, and "
    "nothing counts before the unit was located or stopped.",
    "remedied": "Units of which nothing is under the recall any more, since what it named was taken out, "
    "identified as another, or dealt with.",
    "outstanding": "Units that are still to be dealt with: affected and not retired.",
    "missing": "Of those affected, the units that nobody can find.",
    "retired": "Of those affected, the units that are retired: nothing more is asked of them.",
    "silent": "Units still to be dealt with that nobody is known to have had in hand since.",
    "people": "Persons who had or wore a unit there, wherever it is now, while it held what the recall speaks of.",
}
RECALL_FIELDS: Final[dict[str, str]] = {
    "recalls": "The recalls, by their names.",
    "RecallLine.recall": "The recall, by reference; null in a preview.",
    "RecallLine.action": "The most that any opening asks that stands: `stop-use`, then `rectify-by`, `inspect` and "
    "`information`; null in a preview that asks nothing.",
    "RecallLine.due_on": "The earliest day by which any of them asks more than to be read, or to be read where none "
    "asks more; null where one asks that at once, or in a preview without one.",
    "RecallLine.rehearsal": "Whether it is a rehearsal: it changes no unit's phase and asks nothing.",
    "RecallLine.openings": "Each opening, in order of time, the voided ones, too: what they had reached stays under "
    "it. Rehearsals are left out once it is opened in earnest, and those of a drill once that is closed and another "
    "one begun. Empty in a preview.",
    "RecallOpening.opened_at": "When (UTC).",
    "RecallOpening.action": "What it asks.",
    "RecallOpening.due_on": "By which day; null where none is named.",
    "RecallOpening.criteria": "What it names: any of these.",
    "RecallOpening.voided_at": "When it was taken back (UTC); null where it was not.",
    "RecallOpening.notice": "The words of its notice; null where it has none, where they were erased, and for keys "
    "that read no free text.",
    "RecallLine.opened_at": "When it was first opened (UTC); null in a preview.",
    "closed_at": "When the campaign was closed (UTC); null while it goes on, as it does where a closing left units "
    "without a reason, or where an opening that asks something of units was recorded after it. Closing ends no effect.",
    "voided_at": "When it was taken back altogether (UTC); null where it was not. What it had reached by then stays "
    "under it until it is dealt with or examined.",
    "RecallLine.criteria": "What is affected: any of these. An opening that was voided is left out, unless all were.",
    "RecallLine.notice": "The words of the notice, as last said; null where none were, where they were erased, and for "
    "keys that read no free text.",
    "RecallImpact.recall": "The recall as it was opened.",
    "RecallImpact.total": "All units at the sites asked for, counted.",
    "RecallImpact.sites": "The same by the site that units are counted with, and each site that has stock of it, or "
    "where somebody had or wore a unit that is elsewhere now.",
    **{f"{shape}.{name}": says for shape in ("RecallTotal", "RecallSite") for name, says in COUNTED.items()},
    "progress": "How far each site had come with the units that were there at the end of the day, for each day on "
    "which that changed; the last tells of the moment itself. A unit that has left counts, with all that was done "
    "about it, at its new site since then. Empty in a preview.",
    "RecallDay.day": "The day, as it is at the site.",
    "RecallDay.located": "Units located so far and not missing; what came under the recall anew counts anew here, "
    "and in what follows.",
    "RecallDay.stopped": "Units stopped so far.",
    "RecallDay.put_away": "Units that were put away at the end of the day.",
    "RecallDay.remedied": "Units remedied so far.",
    "RecallDay.outstanding": "Units still to be dealt with at the end of the day.",
    "RecallSite.site": "The site.",
    "RecallDay.site": "The site.",
    "stock": "Spare stock that it speaks of: by site, item, lot, expiry and unit, as far as it was counted, received, "
    "moved, discarded and fitted; no unit is converted into another.",
    "RecallStock.site": "The site where it lies.",
    "quantity": "How much there is, in `unit`.",
    "RecallStock.unit": "The unit of measure, as the events give it; null where none does.",
    "RecallStock.certain": "Whether it is known to be meant; else it may be of any lot, or is told by a day alone "
    "that is not over, and is beside what there is.",
    "unknown": "What the records cannot tell, as far as it bears on this recall.",
    "RecallUnknown.code": "What sort of thing is not known: a word of a list that may grow.",
    "RecallUnknown.count": "How many units, or quantities of stock, it is so of.",
    "says": "What that means, in a sentence.",
    "RecallImpact.rehearsal": "How long it took, and what would have been missed, up to `as_at`, or as it was when the "
    "rehearsal was closed; null where it is none.",
    "RecallRehearsal.located": "How long it took until somebody had each unit in hand.",
    "RecallRehearsal.put_away": "How long it took until each unit was put away.",
    "not_located": "Affected units that nobody has had in hand, those retired meanwhile included: an opening in "
    "earnest would have missed them.",
    "parts_unknown": "Units of which it cannot be known whether they are affected.",
    "stock_unknown": "Quantities of stock of which it cannot be known whether they are meant.",
    "done": "How many units have come so far.",
    "RecallPace.of": "How many units came under the recall, but for those that were retired before. Those that have "
    "not come so far count as slower than any.",
    "RecallPace.median_seconds": "Half of all units had come within so many seconds of the opening, or of coming under "
    "the recall; null where fewer have.",
    "p90_seconds": "Of a hundred units 90 had come within so many seconds; null where fewer have.",
    "RecallPace.max_seconds": "All units had come within so many seconds; null where some have not.",
    "slowest": "Those that took longest, the slowest first.",
    "SlowUnit.asset": "The unit's tag.",
    "SlowUnit.seconds": "How many seconds it took.",
    "RecallImpact.units": "The units that it speaks of or once spoke of, by their tags.",
    "RecallUnit.asset": "The unit's tag.",
    "RecallUnit.unit": "Which unit it is, by the event that registered it, whatever its tag: one tag may have been two "
    "units'.",
    "host": "The tag of the unit that it is fitted in as a component: who has that has it, and it is put away with "
    "that unit, or by itself in a place; null where it is fitted in none.",
    "RecallUnit.affected": "Whether something is under the recall now.",
    "RecallUnit.certain": "Whether that is known; of a unit that is not affected, whether it ever was.",
    "RecallUnit.outstanding": "Whether it is still to be dealt with.",
    "RecallUnit.action": "The most that is asked of it by the openings that reach it; null where nothing is to be done "
    "about it, or in a preview that asks nothing.",
    "RecallUnit.due_on": "The earliest day by which more is asked of it than to be read, or to be read where nothing "
    "else is; null where that is at once.",
    "RecallUnit.asks": "All that is asked of it, what asks most first; empty where nothing is.",
    "RecallAsk.action": "What is asked.",
    "RecallAsk.due_on": "By which day; null where it is asked at once, of a unit that is used before it is.",
    "last_spoken_at": "When an event last told of it (UTC), but for good news that was taken back. Of an event that "
    "states a day alone, its earliest moment.",
    "located_at": "When somebody first had it in hand since it came under the recall (UTC), as its events tell; null "
    "where nobody is known to have, and while it is missing. Of an event that states a day alone, its earliest moment, "
    "and not before the part counts as put in.",
    "stopped_at": "When it was first quarantined for this recall (UTC); null where it never was. Of a day alone, its "
    "earliest moment.",
    "RecallUnit.reason": "Why it was not dealt with, as last said when the campaign was closed; null where nobody "
    "said, where the words were erased, and for keys that read no free text.",
    "put_away_at": "Since when it is put away now, not before it came under the recall (UTC); null where it is not.",
    "remedied_at": "When the last of what was under the recall was dealt with (UTC); null where something still is, "
    "and where nothing was since it was opened.",
    "sittings": "What it speaks of in the unit: parts that sit or sat there, and the unit itself.",
    "RecallSitting.position": "The position, as the model names it; null for the unit itself.",
    "RecallSitting.since": "Since when it was there (UTC).",
    "RecallSitting.until": "Until when (UTC); null where it still is.",
    "RecallSitting.certain": "Whether it is known to be meant; else something that decides is not on record, or is "
    "told by a day alone that is not over.",
    "RecallSitting.state": "`affected`: under the recall now; `cleared`: there, and dealt with or let go; `removed`: "
    "there no more; `identified`: turned out to be another.",
    "RecallSitting.item": "The item; null for the unit itself, and where nothing was said of the position.",
    "RecallSitting.lot": "The lot as printed; null where none was given.",
    "RecallSitting.serial": "The part's serial number as printed; null where none was given.",
    "RecallHand.site": "The site where it was then.",
    "RecallWearer.site": "The site where it was then.",
    "hands": "Who had the unit while it held what the recall speaks of.",
    "RecallHand.since": "Since when (UTC).",
    "RecallHand.until": "Until when (UTC); null where they still have it.",
    "RecallHand.seconds": "For how many seconds of that it held what the recall speaks of.",
    "wearers": "Who wore it meanwhile, by person and site.",
    "times": "How often.",
    "RecallWearer.first": "When for the first time (UTC), not before it held what the recall speaks of.",
    "RecallWearer.last": "When for the last time (UTC).",
    "RecallWearer.seconds": "For how many seconds, as far as ends were recorded.",
    "known_by": "The kinds of the events that tell of it: a check that names its wearer and a failure in use do, too.",
    "RecallHand.certain": "Whether anything that the unit held then is known to be meant, and did not turn out to be "
    "another.",
    "RecallWearer.certain": "Whether anything that the unit held then is known to be meant, and did not turn out to be "
    "another.",
    "RecallSites.recall": "The recall, by reference.",
    "RecallSites.sites": "The sites where there is any of it, by name.",
    "RecallPeople.recall": "The recall, by reference.",
    "RecallPeople.people": "Who had or wore units meanwhile: persons, crews, vehicles and places, each by name.",
    "RecallPerson.certain": "Whether anything that they had or wore is known to be meant; where it is not, a part of "
    "unknown lot counted as affected, or turned out to be another.",
    "RecallPerson.units": "How many units it were.",
    "held_seconds": "For how many seconds they had them while they held what the recall speaks of, summed over units.",
    "times_worn": "How often they wore one meanwhile.",
    "worn_seconds": "For how many seconds they wore them meanwhile, as far as ends were recorded.",
    "RecallPerson.first": "Since when they had one of these units, be that before it held what the recall speaks of, "
    "or when they first wore one meanwhile (UTC).",
    "RecallPerson.last": "Until when they had one of these units, or when they last wore one meanwhile (UTC).",
    "RecallStockList.recall": "The recall, by reference.",
}
