"""What each member of the answers about stock says, with its unit; as `answer_fields.py` has those of the others."""

from typing import Final

_UNIT: Final = "The unit of measure, as the events give it; nothing is converted, so that each unit stands by itself."
_NAME: Final = "The item's name; null where it is not defined."

STOCK_FIELDS: Final[dict[str, str]] = {
    "StockList.stock": "How much there is of every item at every site of which stock was ever told, by site and item.",
    "StockLevel.site": "The site.",
    "StockLevel.name": _NAME,
    "StockLevel.unit": _UNIT,
    "StockLevel.quantity": "What the lots add up to, less `short`; never below nothing.",
    "StockLevel.lots": "The lots of which there is something, the oldest expiry first, none last.",
    "StockLevel.short": "How much more of lots was taken than was ever told of; null where none was. Something that "
    "comes and may have been it fills it, a count explains it.",
    "oldest_expiry": "The oldest expiry of which there is something; null where none has one.",
    "last_counted_at": "When any of it was last counted (UTC); null where it never was.",
    "StockLot.lot": "The lot, as last written where some of it came or was counted; null for what bears none.",
    "StockLot.expires": "The shelf expiry, a day or a month to its end; null where none is on record.",
    "expired": "Whether its last day has passed at the site.",
    "StockLot.quantity": "How much there is of it, in `unit`.",
    "StockLedger.site": "The site.",
    "StockLedger.name": _NAME,
    "entries": "What changed the stock, in the order it counts: by its moment, whenever it was recorded. They begin "
    "with the first event that tells of stock in a unit.",
    "StockEntry.event": "The event's id; null where stock came from a site that the key does not read.",
    "StockEntry.at": "The moment at which it counts (UTC); a date alone counts at the end of its day at the site.",
    "what": "What it was. `fitted`: put into a unit new, by a change of filter or part, or by a repair.",
    "StockEntry.lot": "The lot that the event names; null where it names none.",
    "StockEntry.expires": "The shelf expiry that the event names, or that the lot has on record; null where none is.",
    "StockEntry.place": "The place that the event names; null where it names none.",
    "from_site": "Where stock that was moved here came from; null where the key does not read that site.",
    "to_site": "Where stock was moved to.",
    "StockEntry.unit": _UNIT,
    "StockEntry.quantity": "How much the event speaks of, in `unit`.",
    "change": "What it did to the balance of its unit: of a count, what it found less what was expected.",
    "StockEntry.balance": "How much there was of its unit after it; below nothing where more was taken than "
    "was told of.",
    "StockEntry.short": "How much of what was taken was not there; null where all of it was.",
    "explains": "What a count explains; null of all else.",
    "expected": "How much should have been found by all that was told before.",
    "CountExplained.found": "How much was found.",
    "difference": "What was found less what was expected: what nobody had told of.",
    "StockEntry.lots": "What it did to each lot.",
    "EntryLot.lot": "The lot; null for what bears none.",
    "EntryLot.expires": "Its shelf expiry; null where none is on record.",
    "EntryLot.change": "What was added to it, or taken off where negative.",
    "EntryLot.balance": "How much of it there was afterwards.",
    "assumed": "Whether the event leaves open that it was this lot: the oldest expiry is taken first, for a "
    "part that was fitted what had expired last.",
    "periods": "What was used, by site, item and unit, the oldest period first; periods without any are left out.",
    "PeriodUsed.site": "The site.",
    "PeriodUsed.name": _NAME,
    "PeriodUsed.unit": _UNIT,
    "PeriodUsed.from": "The first day that counts, as it is at the site.",
    "PeriodUsed.to": "The last day that counts, which belongs to it; of a period that goes on, the day of the moment.",
    "used": "How much was fitted new, in `unit`.",
    "discarded": "How much was thrown away, in `unit`.",
}
