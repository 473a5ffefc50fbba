"""What the records cannot tell of a recall: a closed list of words, each with a plain sentence.

Only words and sentences may live here.
"""

from typing import Final, Literal

Unknown = Literal[
    "not-defined",
    "criterion-unmeetable",
    "parts-so-numbered",
    "units-so-numbered",
    "numbers-not-looked-up",
    "part-not-named",
    "nothing-said",
    "unit-not-dated",
    "part-taken-out",
    "in-one-of-two",
    "not-located",
    "holder-not-a-person",
    "wearing-without-end",
    "stock-without-lot",
    "day-not-over",
    "not-registered-yet",
]

SAYS: Final[dict[Unknown, str]] = {
    "not-defined": "Items and models that the criteria name and nobody has defined or said anything of: look whether "
    "they are mistyped.",
    "criterion-unmeetable": "Criteria that no part and no unit meets: the lots or serial numbers that they name lie "
    "outside the range that they give, too. All that one criterion says must hold: what a notice names beside a range "
    "is a criterion of its own.",
    "parts-so-numbered": "Criteria of serial numbers that name no item: they speak of units alone, and parts with such "
    "numbers are on record. To find those, too, name their item in a criterion of its own.",
    "units-so-numbered": "Criteria of serial numbers of parts: no part with such a number is on record, but units are. "
    "To find those, name the numbers in a criterion of its own, without an item, a lot or an expiry.",
    "numbers-not-looked-up": "Criteria with serial numbers of which not all were looked up among those of what they do "
    "not speak of, since they are very many: ask with fewer at a time.",
    "part-not-named": "Units with a part that may be meant: its lot, its serial number, its expiry or the day it was "
    "made is not on record. It counts as affected until it is identified.",
    "nothing-said": "Units of which nothing was ever said about a position: any item may sit there, of any lot, that "
    "their model lists for it, or another that they were registered as. It counts as affected until it is identified.",
    "unit-not-dated": "Units that may be meant: the day they were made or acquired is not on record, or they were "
    "registered as of another model or day, too, and which of the two is wrong nobody said.",
    "part-taken-out": "Units from which a part that was meant was taken out, and that sits in no unit told of here. "
    "Look for it on shelves and in bins, lest it is put in again, and where one with its serial number was taken down "
    "as of another lot.",
    "in-one-of-two": "Units in which a component that is meant may be still: a part of its serial number was put in "
    "elsewhere, and nobody said that it was taken out here. It is told in the other unit; neither is to be used.",
    "not-located": "Units with something to be done that nobody is known to have had in hand since the recall was "
    "opened: where they are is what was recorded before.",
    "holder-not-a-person": "Units that a crew, a vehicle or a place had meanwhile: who used them there is known only "
    "as far as wearings were recorded.",
    "wearing-without-end": "Units worn meanwhile without a recorded end: for how long is not known and not counted.",
    "stock-without-lot": "Quantities in stock that may be meant: their lot or expiry is not on record.",
    "day-not-over": "Units, and quantities in stock, that are meant or may be by what is said of a day alone that is "
    "not over, or are said to be fitted elsewhere by it: that counts from the beginning of the day, and what was taken "
    "out on it is still there.",
    "not-registered-yet": "Units that may be meant and are registered with a day alone that is not over: they are "
    "listed once it is over. Look for them now; ordering units out of use, and a closing, reach them already.",
}
