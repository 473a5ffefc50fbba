"""What each member of answers about proposals says; what it means elsewhere stands in `answer_fields.py`.

Only sentences may live here.
"""

from itertools import product
from typing import Final

PROPOSAL: Final[dict[str, str]] = {
    "id": "The proposal's id. It follows from the site, the item and how many of its proposals were acted on before: "
    "it stays while nobody acts.",
    "site": "The site that needs it.",
    "item": "The item, by reference.",
    "name": "The item's name; null where it is not defined now.",
    "unit": "The unit that quantities are in; null where the item is not defined now.",
    "state": "`open`: nobody has acted on it. `approved`. `placed`: ordered. `part-received`. `closed`: all has come. "
    "`short`: it ended with less than was ordered. `cancelled`: nothing came.",
    "quantity": "How much is to be bought; once it was acted on, how much was ordered, else approved; null where "
    "nobody said, or only in another unit than the item's.",
    "transfers": "What other sites can spare of it, to be taken before anything is bought: move it by `stock-moved`.",
    "because": "Why, in words; once it was acted on, why then and what became of it.",
    "arithmetic": "What the quantity follows from, step by step. Once it was acted on, as it was "
    "just before its approval (its order, where it has none); null in a list then.",
    "forecast": "How the two streams of use are forecast; once it was acted on, as `arithmetic`.",
    "condition": "The changes that are expected of what is fitted at the site by the order after this one, the soonest "
    "first, at most 100; once it was acted on, as then, and empty in a list.",
    "cost": "What the quantity costs: by the prices of the order once it says any, else by the item's; null where "
    "there is none, or in several currencies.",
    "approval": "The approval that counts; null where none does.",
    "order": "The order that goes on, else the last; null where nothing was ordered.",
    "other_orders": "The numbers of further orders for it: there should be none.",
}
REORDER_FIELDS: Final[dict[str, str]] = {
    **{f"{shape}.{name}": said for shape, (name, said) in product(("Reorder", "ReorderRead"), PROPOSAL.items())},
    "reorders": "The proposals, by site and item.",
    "ReorderReceipt.id": "The id of the event.",
    "ReorderReceipt.proposal": "The proposal as it is now.",
    "from_site": "The site that it comes from.",
    "ReorderTransfer.quantity": "How much.",
    "ReorderTransfer.lot": "Of which lot, to be named as it is moved; null where none is on record.",
    "ReorderTransfer.expires": "The last day of that lot; null where none is on record.",
    "lead_days": "The mean of the days from an order to its receipt.",
    "lead_from": "What that is known from: the site's own orders (`observed`), the item's `lead_time_days` (`stated`), "
    "both where fewer than three orders came (`observed-and-stated`), orders of all sites where nothing is stated "
    "(`observed-elsewhere`), or nothing: 14 days are `assumed`.",
    "lead_variance": "Its variance, in days squared.",
    "look_days": "The days from one look at the stock to the next.",
    "protected_days": "For how many days the stock is to last: `lead_days` + `look_days`.",
    "use_from": "What the use in those days is made of, in the mean.",
    "ReorderUseFrom.unforeseen": "By the forecast of what nothing announces: its `per_week` * `protected_days` / 7.",
    "ReorderUseFrom.foretold": "By the forecast of what a limit, a plan or a reading announces, in the same way.",
    "ReorderUseFrom.changes": "How many changes of what is fitted are expected for such a reason, those that follow a "
    "first one included: the same demand told in another way. They are looked for two standard deviations of the lead "
    "time further.",
    "ReorderUseFrom.recalled": "How many are expected under open recalls.",
    "use_mean": "How much will be used in those days, in the mean: of `use_from` `unforeseen` + the larger of "
    "`foretold` and `changes` + `recalled`.",
    "use_variance": "The variance that it is taken to have, in units squared: the mean at least.",
    "family": "The distribution that use is taken to have.",
    "ReorderArithmetic.level": "The chance that nothing runs out meanwhile: the policy `service-level`.",
    "reorder_point": "With this much or less there and on its way, something is ordered.",
    "order_days": "The days from one order to the next.",
    "use_between": "How much will be used in those days after `protected_days`, in the mean.",
    "order_up_to": "Then it is filled up to this: `reorder_point` + `use_between`, rounded up, one at least "
    "where anything is used.",
    "fill_rate": "The share of what is asked for that is there at once, in the long run.",
    "in_stock": "What is there and no open recall reaches; what has expired is among it, and in `expiring`.",
    "in_other_units": "What is there in units that are not the item's: nobody can add it up, so it is not counted. "
    "At most 100 are listed.",
    "InUnit.unit": "The unit, as it was told.",
    "InUnit.quantity": "How much.",
    "ReorderArithmetic.recalled": "What is there besides that an open recall reaches, or may reach since no lot is "
    "known: it is not to be used.",
    "expiring": "How much of it has expired or will before it is used, within `protected_days`.",
    "on_order": "What was ordered and has not come, and what was approved; without `expected_on` only until "
    "its lead time and the spread of that are over, with it until it was called off. What came on a day without its "
    "time, or was moved there, is among it until that day is over, since it is in stock from then on.",
    "late": "How much of that was expected by a day that is over, and has not come: it counts all the same, so that "
    "nothing is ordered twice; null where nothing is late.",
    "ReorderLate.quantity": "How much.",
    "ReorderLate.since": "The day that the longest overdue of it was expected by.",
    "owed": "What was taken beyond what was told of.",
    "ReorderArithmetic.position": "`in_stock` - `expiring` + `on_order` - `owed`.",
    "wanted": "`order_up_to` - `position` where that is not above the reorder point, else nothing.",
    "transferred": "How much of it other sites can spare.",
    "ReorderArithmetic.pack_size": "The item's pack; null where none is said, as of single pieces.",
    "ReorderArithmetic.minimum_order": "The item's minimum order; null where none is said.",
    "rounded": "`wanted` - `transferred`, at least the minimum order, in whole packs; nothing where what is "
    "transferred lifts `position` above the reorder point.",
    "usable": "How much more can be used before it expires; null where the item says no shelf life. What is "
    "transferred is a part of it.",
    "ReorderUsable.days": "From now to the day on which what is ordered now will expire.",
    "ReorderUsable.use_mean": "How much will be used until then, in the mean.",
    "ReorderUsable.expected": "What of `use_mean` is beyond `position`, in whole numbers.",
    "ReorderUsable.at_best": "The same of as much as is exceeded with no more than the chance of 1 - `level`.",
    "limits": "What made the quantity another than was wanted, in the order in which it bit. `closed`: the site is, so "
    "nothing is proposed for it. `untold`: nobody said how much is on its way, or in another unit than the item's, so "
    "nothing more is proposed until somebody does.",
    "unforeseen": "Damage, contamination and other changes, and what counts did not find and no recount put right.",
    "foretold": "What a limit, a plan or a reading announces: compared with `condition`, the larger counts.",
    "ReorderForecast.method": "The method: Croston's (`croston`), the same without its bias (`sba`), or `tsb`.",
    "ReorderForecast.because": "Whether it is the one published for the pattern, or one that did clearly better here.",
    "pattern": "The pattern of use.",
    "per_week": "The mean use in a week from now on.",
    "weeks": "Over how many weeks of history.",
    "ReorderForecast.error": "How it did where it was held against the past; null where that is too short.",
    "origins": "From how many weeks of the past it was tried.",
    "periods": "Over how many weeks each time.",
    "pinball": "The mean quantile loss of the stock that it would have set, in the item's unit: least for the best.",
    "ReorderError.covered": "The share of times for which that stock lasted.",
    "bias": "Forecast less use in a week, in the mean.",
    "mase": "The mean absolute scaled error, one week ahead; null where use never changed.",
    "ReorderChange.asset": "The unit's tag.",
    "on": "The day.",
    "ReorderChange.because": "Why.",
    "ReorderCost.amount": "The amount, exact.",
    "ReorderCost.currency": "Its currency (ISO 4217).",
    **{f"{shape}.by": "Who: a person's reference." for shape in ("ReorderDeed", "ReorderApproval")},
    **{f"{shape}.at": "When (UTC)." for shape in ("ReorderDeed", "ReorderApproval")},
    **{f"{shape}.event": "The event that says so, by its id." for shape in ("ReorderDeed", "ReorderApproval")},
    "ReorderApproval.quantity": "How much was approved; null where nobody said.",
    "within_cap": "Whether the policy `order-cap` stood for a manager.",
    "ReorderOrder.order": "Its number.",
    "ReorderOrder.state": "How far it is.",
    "supplier": "The supplier, by reference; null where none was said.",
    "expected_on": "The day the goods are expected; null where none was said.",
    "ReorderOrder.overdue_since": "Since when it is overdue: its day is over, or without one its lead time and the "
    "spread of that; null where it is not.",
    "placed": "Who said that it was ordered, and when.",
    "cancelled": "Who called it off, and when; null where nobody did.",
    "ReorderOrder.lines": "What was ordered.",
    "ReorderLine.line": "The line's own name; null where the order has no lines.",
    "ReorderLine.unit": "The unit; null where none was said.",
    "ordered": "How much was ordered; null where nobody said.",
    "received": "How much has come; what came on a day without its time, once that is over.",
    "ReorderLine.outstanding": "How much is still to come; nothing, once it was called off.",
    "price": "The price of one unit; null where none was said.",
    "currency": "Its currency (ISO 4217); null where no price was said.",
}
