"""An independent judge of the meaning of events: slow, plain, recomputed from all records at every question.

It knows nothing of the service. It takes posted messages as plain dicts with the data of their receipt (`Record`),
and answers `judge` (units at a moment), `intervals`, `uses`, `conflicts` and `summary`. "Ruling n" names the
project's numbered rulings on meaning. Where these leave two readings the oracle takes the one written here.

Instants and order
1. "The end of a day" is the start of the next local day; intervals are half-open. A date-only event without a site
   takes the zone of its asset's site at the start of that day in UTC, as told by the events that carry a site of their
   own (registered, received, issued, stationed, returned, found); without an asset, UTC. A site's zone on a day is
   that of its version in force as the day starts there.
2. A missing `device` sorts as the empty text, a missing `device_seq` as -1. All kinds of reference data share one
   rank, all kinds about persons the next. `failed-check` and every kind not named in ruling 2 share the last.
3. Days of grace (due dates, calibration, validity) compare the local day of the act; a date-only act keeps its date.
4. A shift starts and ends by the clock on the wall: over a change of the clocks it is an hour shorter or longer.

Voiding
5. Bad news that stays when voided: every kind that ruling 1 calls adverse (`missing` and `authorisation-ended` too),
   and a check or examination that fails by its readings. What else is voided never happened. A voiding of one's own
   adverse event (same person, or same key unless one of the two was imported) has no effect, whatever its kind.
6. Voidings work by knowledge, newest `seq` first; their own instant matters only to "later than the voiding" in ruling
   26. There the check must be later than the voiding and than the bad news, echo included.

Identity
7. A tag means the unit of its last claim (registered, retagged) at that place in the order; before the first claim,
   the unit of that one. An old tag reaches its unit until another claims it. A unit whose tag passed to another
   without a new tag is shown as `TAG~SERIAL`. The maker of a model whose versions were all taken back is that of the
   first of them: a unit stays itself. Defined again, or corrected from its beginning, a model has the maker of what is
   its first version then, for all time: registrations of one serial number become of one unit, or of two.
8. Facts dated before the registration count as if the unit had been there, in store; the unit is shown, counted and
   used (for `uses`) from its registration on. Only a registration after the first, of a retired unit, revives it; of a
   unit that is not retired it changes model, site, and what it states of use and parts. A unit that was
   ever registered for another is a component. A part that a registration states was fitted before, if one was known.

Clocks
9. `clock {tolerance}` is the policy in force at receipt, for the event's own site. Recorded events that were voided
   still count as evidence of a device's counter. A date-only event can't contradict a counter, and lies before the
   registration when its whole day does. An import is spared only the test of lateness (over an hour, overtaken by good
   news).
10. "In between" is later than the stamp and not later than the receipt, good news of the same unit by ruling 1's
    polarity. Only what ruling 1 calls adverse echoes, not what fails by its readings. An echo repeats failure, reason,
    missing and end of authorisation; not place, holder, readings or wearer. Impossible (design 3.6) is what lies ahead
    of its receipt, by however little: an echo may come before what it repeats.

Phases
11. Seen while missing: any kind that handles the unit (found, received, returned, part changes, cleaned, repaired,
    examined, checks, failed-in-use, recall-actioned, issued, stationed, worn, moved, sent-to-service, quarantined with
    a place); not use-set, retagged, registered or released. It gives the reason `found` and puts the unit in store, so
    put away, unless it is an issue or a stationing. `found` always gives its reason, and ends transit and service.
12. Missing keeps the holder; moved, sent-to-service, received, returned, found, stationed, retired, quarantined with a
    place and a grounded release take it away; a release of a unit that is missing or away moves nothing. A holder that
    is a place is its place. Quarantined with a place does not end transit or service. `stationed` ends put-away as
    `issued` does. Put away is quarantined and placed in store.
13. Issued, stationed, returned and found with another site than the unit's change the site. Each kind that handles the
    unit (reading 11) but `received` reports `not-received` then. An event without a site claims nothing about it.
    What is decided at a desk (released, retired, retagged, use-set) by a key bound to sites counts, and reports
    `unit-of-another-site` where the unit is at none of them (ruling 37).
14. Facts after `retired` change nothing but the tag, bad news included, even if the unit is registered again.
15. `returned-without-holder`: no holder, and neither stationed nor away. `received-without-move`: neither in transit
    nor at service. A retired unit issued is both `issued-while-retired` and `not-ready-to-issue`. What a report or a
    component says against a unit at the very instant of its issue comes after the issue.

Checks
16. A point of the check must be stated: a reading or indicator never stands in for a missing point, it can only fail
    or spoil one. A reading beyond the plausible range or out of calibration makes a stated airflow pass unproven; a
    reading under the minimum fails even then. An instrument nobody defined is out of calibration; what it measures is
    not judged. Not-applicable proves nothing.
17. A failing point that the model does not know withdraws; so does too little air where the model has no airflow
    point, and a failed check or examination without any failing point. Charge under the low mark fails the battery
    point, and asks for a recheck where there is none. Loading and capacity fail no check.
18. An open recheck ends only with a complete passing check, by whomever and for whomever; not with an examination or a
    release. Failing by readings is judged by the model of the check's moment, an echo as its original. "Twice running"
    and "three in seven days" count checks (both kinds of failure), over releases; only a complete passing check
    between breaks a run; seven days are 168 hours, both ends included.
19. A passing examination is valid only with every required point, a measured, plausible, calibrated flow of at least
    the minimum on a powered unit (so none for a model without a minimum), and a competent examiner. A failing one
    fails whoever did it.

Release
20. For `failed` and `damage` ground must be later than the newest failure of any kind and the newest of that reason;
    for others, than the newest of that reason. A repair and its check: the check strictly later than the repair. A
    release with nothing held does nothing and is no conflict. A release by someone without competence is
    `unknown-competence`; it is `released-without-ground` besides only where ground is missing too.
21. Each recall is held by itself; a quarantine that names none is cleared by any. `part-identified` is ground for the
    recalls, opened before it, that the unit came under before it and does not after it. A release on a voiding leaves
    that one failure out of account; what else is held needs its own ground.
22. A competence has no end without `valid_until` in either profile (the twelve months of ruling 30 speak of wearers).
    A self-granted training is a conflict only where it grants more than `wear`.

Uses
23. Cover takes its length from the policy at the check. It ends with another's wearing or check, any cleaning, any
    change of parts but the battery's, repair, any failure or quarantine, an issue to another person, and every leaving
    of the hand (every event that places the unit but an issue to the same holder or out of nobody's hands; missing). A
    newer check takes nothing back of what an older one granted the same wearer.
24. A check that names a wearer is a wearing: it moves `last_wearer`, ends another's cover and counts between wearers.
    "Any" check for a crew is any that names a wearer.
25. A breach within a use with an end starts each time cover fails within it, a battery swap included; it ends also
    with the check that restores the cover. A use without cover from its start whose breach was ended by an examination
    breaches anew only if a cover fails again. A use ends when the unit leaves the hand, whatever was said; uses may
    overlap.
26. A use counted by the calendar needs phase `issued`. A working day is a site's: a unit issued at two sites on a day
    makes a use at each. In that mode nothing worn is counted, even by units the calendar leaves out. Where `worn`
    counts, every wearing counts, in whatever phase; it is covered if no breach has begun in it.
27. Function check and cleaning are owed from the start of the special use. Cleaning between wearers is judged when the
    other wears, never when he only holds. A missing unit that stood ready is found by who wears it, so that the
    purpose left out is its use's. Days before `opened_on` or after `closed_on` of a site are no working days.

Examination
28. Interval, use, site, zone and policies are those of the moment judged. Without examination the first issue or
    stationing is the anchor, however old; without that the rule is out of scope; with policy `acceptance
    {examination}` it is overdue, `no-evidence`. uk escape units: P1M, as all reusable equipment (UK-01, UK-09).
29. A `use-set` to occasional is passed over until its receipt, and if its key may not set it (a conflict,
    `use-not-authorised`); the one before it holds. A registration that states occasional sets routine.

Parts
30. Hours: the time worn since the fitting, of wearings with an end, overdue on reaching the limit. Shifts: uses since
    the fitting, counted ones and wearings of units whose working days are not, overdue beyond the limit. Days: from
    the local day of fitting (of `opened_on`, if refitted). Time since opening: from `opened_on` or, if earlier, from
    the first use (a new gas filter, also by a wearing that goes on) or the fitting (others); its reason is
    `service-limit`. No warning comes before the opening.
31. A gas filter's schedule is its item's service limit or days after opening. Due-soon by `filter-life {due_soon}`
    before shelf life, days of service and days after opening end; never for batteries.
32. Unlisted parts and combinations, and missing parts, are do-not-use. A required position is missing only once it was
    emptied; what was never stated is not judged, and without anything stated, or of a model that nothing defines, the
    rule is out of scope.
    `filter_loading` as a number speaks of every position with role particle.
33. Charge is told by a percentage or by a battery point with a result; low marks are those of the moment judged. A
    battery has its shelf life, days of service and time since opening judged under `power`. A battery put in by a
    repair is a swap for `power`. `service_life_months` is not judged.
34. A component is fitted in its unit from `fitted_to` on, until that tells that a part with its serial was taken out,
    or another that one was put in; what is taken out of another unit moves nothing. It is taken out as a part (not as a
    filter), from the last position where it was put in as one, if that was said. Swaps count that are told of the time
    before it was called a component. A registration without `fitted_to` says
    nothing of that. What speaks against it (reasons held, recheck, unresolved report, retired, each by its own word,
    and what speaks against components in it) counts for each unit by its registrations and by what that unit itself
    tells: put in elsewhere, or registered for another, it counts for both, and put in on a day alone from its beginning
    on. What was done to a retired unit moves no part.

Recalls
42. A recall holds from the instant of its opening on, also for what else happens at that instant. Opened again it adds
    and takes nothing back; the echo of a suspect opening is another. Only what is later than an opening remedies it.
43. A criterion with an item, a lot or an expiry speaks of parts: `model` is that of their unit, `serials` their own,
    and the days they were made and received on no record. Any other speaks of units; `received` is their acquisition.
    Lots and serials compare as reading 55 has them, and without leading zeros of a run of digits, for equality too; the
    ends of a range may stand either way round. An expiry that is a month may be any day of it, a criterion means all.
    A unit registered again as another model, or with another day, may still be the one before.
44. A position that nothing was said of may hold whatever any version of the model lists for it that was in force since
    the registration: defined anew, a model changes no unit. Of a unit registered again as another model it may hold
    what either lists, since either may be wrong. Where every version of a model was taken back, whatever those listed
    may sit there still. A part first stated by a registration or an identification was there before; one identified in
    an emptied position was put in then.
45. `fixed` clears a part until another is put in, `not-affected` until it is said to be of another item, lot, serial or
    expiry too, and each clears for good what came with the unit and the unit itself. One that states its day alone
    clears a part that was in, or said to be so, as that day began; later than the opening it is by the day's end.
46. `inspect` is judged as `rectify-by`; without `due_on` both are overdue at once. Of a component whatever is overdue
    speaks against the unit it serves, of other units out of scope only a stop-use.
47. A voided opening reaches nothing that comes in after the earliest of its voidings. A unit is free of it after a
    passing examination later than that and than the opening, or a release on one of the voidings, which leads to the
    store as any. A quarantine for a recall whose every opening before the release was voided ends by the same.
48. The check that such a release needs is made while the unit is withdrawn or comes under a recall.
49. Who wears a unit is told by a wearing, a check that names its wearer, passed or failed, and a failure in use; of a
    component by its own and its unit's. Without an end it may last until the hand that has the unit, or has it next,
    ends, or anybody, the same person too, puts the unit on later than that; of a day alone that is at its end. The last
    two kinds show a moment, which ends what another wears and nothing of one's own. An end said counts up to the end of
    that hand.
    Of a component that is the hand that has the unit it sits in, too, for as long as it does and once that is shown.
    Where the day alone is known on which it was put in, whoever had or wore that unit on it is told for no second, yet
    not before it was taken out of that same unit the time before. So is whoever has or wears the unit that it came from
    until that tells that it was taken out. What holds a component that holds it is told as well.
    A part whose lot is not on record is known by a lot told of its item and serial number elsewhere, if that is meant.
50. A hand, a wearing or a part put in of which the day alone is known meets what there was at any moment of that day. A
    part that came and went at one instant was there on the day that either states alone; where neither does, it was
    not; a hand alike. One that had been there before bears a name that is said at the instant at which it is taken out.
    What was cleared counts as there up to the last act that cleared it. What was there, in hand and on before the
    registration counts from the first fact of a unit on; what came with it came by then. A wearing is told no earlier
    than the first moment that it may have in common with what was there.
51. A recall that was ever opened in earnest has no rehearsals, voided or not; one recorded after that is told
    (`rehearsal-left-out`). A closing ends it from its own instant on: one that nobody took back, later than every
    opening, and not told that it leaves units without a reason. Where an opening asks something of units (in earnest,
    and not for information), it was in the log before the closing, and the closing was not told that nobody had opened
    the recall: so what is closed was known to who closed it. A drill begins with the first opening since the last such
    closing that is not later than its newest opening, and is over with the first that ends it. The reasons that a
    closing gives count from its instant on, but for those told to be of no unit. They are said at its instant or, if
    earlier, its receipt (of a day alone the end is not foreseen): until an opening that is not earlier than that asks
    something of units, and of what may have been there then: of a part put in on a day alone since that began (reading
    50), as sightings are.
52. What is said of a day alone that is not over counts, for what a recall has reached, from that day's beginning, and
    is not certain: what sits in a unit as that day ends, what came out by another name than it was known by, and stock.
    What was put in on it counts from the day's beginning, for no second yet; what was there from its own. Of several
    names said at one instant the last counts, of parts put in each. Who had or wore it by such a day did so since that
    began, for no second yet. Nothing lets go by such a day: what is taken out is
    there, a remedy, a release and an examination are none yet, no stock is taken or missed. What is under the recall
    already is not told twice. A unit registered on such a day is none before it is over.
53. What is said of a unit on a day alone is said as that day begins where the unit is: not yet as at the evening
    before, and not since a recall that was opened later that day. What states a moment after its receipt is said then.
54. Who handles a unit (reading 11) has it in hand, unless the event was voided, by its author too. A voiding does not
    speak of the unit, nor good news that was voided. A component is spoken of and had in hand with the unit it sits in,
    but on a day that alone is known of its swap with neither of the two.
55. Two serial numbers or lots are one if they are in capitals, trimmed, by Unicode's compatibility (NFKC: wide letters
    and digits, accents of their own), with every dash a hyphen, and without the characters that it has a page leave
    out. This widens ruling 13 on the safe side: more units are one, and a recall finds more.

Answers
35. `reasons` of a withdrawal: `withdrawal` for any reason held, and `recall` besides if that is one of them.
36. `ready_to_issue` judges every rule as if issued now for the declared use, without `used-without-check`, which
    depends on whom and when, and without the uses that would follow.
37. The month's uses and unit-days include the instant `as_at`. A unit-day belongs to the site where the unit was at
    the time; a unit in scope at two sites on a day makes a day for each.
38. `put_away` is the instant since which it has been so, while the phase is `quarantined`.
"""
