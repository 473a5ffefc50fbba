"""What each field of events says, with its unit: one sentence for a name, wherever it stands.

Only sentences may live here; "Schema.field" says what a name means in one place alone. The table of reference data is
`reference_fields`.
"""

from typing import Final

EVENT_FIELDS: Final[dict[str, str]] = {
    # the envelope
    "kind": "What sort of event this is; the list of all stands under `discriminator`.",
    "id": "The event's own id, made by the sender (UUID, version 7 advised): the same id makes a retry safe.",
    "occurred_at": "When it happened, with the offset from UTC (RFC 3339). Either this or `occurred_on`.",
    "occurred_on": "The day it happened, where no time is known. Good news counts from its end, bad from its start.",
    "by": "Who says so: a person's reference, never a name.",
    "site": "The site it belongs to; a key of one site alone may leave it out.",
    "device": "The device that took it down.",
    "device_seq": "The device's own counter, one more with each event.",
    "sent_at": "The sender's clock when it sent the message; belongs to the message, not to what happened.",
    "remark": "Free text, kept beside the log and erasable; no medical data.",
    # units
    "asset": "The unit's tag.",
    "model": "The model, by its reference.",
    "serial": "The serial number as printed.",
    "size": "The size as printed.",
    "use": "What the unit is for; it decides which duties apply.",
    "made_on": "The day it was made.",
    "acquired_on": "The day it was bought.",
    "fitted_to": "The tag of the unit that this component with a serial number of its own sits in. Left out as it is "
    "registered again, that says nothing of it: the unit says when it is taken out.",
    "parts": "Parts and the positions they sit in.",
    "position": "The position on the unit, as the model names it.",
    "part": "The part.",
    "item": "The consumable or spare, by its reference.",
    "lot": "The lot as printed.",
    "expires": 'The shelf expiry: a day, or a month, which lasts to its end ("2026-03" is to 31 March).',
    "opened_on": "The day it was opened.",
    "condition": "`new`, or `refitted` after it was used before.",
    "new_tag": "The tag that the unit has from now on; its history goes on.",
    "authorised_by": "Who answers for the use: a person's reference.",
    "reason": "Why.",
    "holder": "Who has the unit: exactly one of person, crew, vehicle and place.",
    "task": "The task, by its reference.",
    "person": "The person, by reference; never a name.",
    "crew": "The crew, by its reference.",
    "vehicle": "The vehicle, by its reference.",
    "place": "The place, by its reference.",
    "to_site": "The site it goes to.",
    "provider": "Who does the service, by reference.",
    "reference": "The provider's own number for the job.",
    "wearer": "Who breathes through it: a person's reference.",
    "Worn.until": "When it was taken off; the beginning is `occurred_at`.",
    "purpose": "What it was worn for; emergency, training and fit-test use asks for cleaning afterwards.",
    "setting": "The setting of the blower, as the model names it.",
    "points": "The result of each point of the check, by the names of the model.",
    "Repaired.points": "The points of the check that were repaired.",
    "airflow_lpm": "The measured airflow, in litres per minute.",
    "airflow_indicator": "Whether the flow indicator stood above or below its mark.",
    "battery_percent": "The charge of the battery, in percent.",
    "capacity_percent": "The measured capacity of the battery, in percent of what it had when new.",
    "filter_loading": "The step of the loading indicator (0: clean), of the particle filter or by position.",
    "instrument": "The instrument it was measured with, by its reference.",
    "action": "What was done about it.",
    "signs": "What was noticed in use.",
    "left_area": "Whether the wearer left the area.",
    "cylinder_bar": "The pressure of the cylinder, in bar.",
    "result": "How it ended.",
    "defects": "What was found, point by point.",
    "point": "The point of the check, as the model names it.",
    "found": "What was found.",
    "remedy": "What was done about it.",
    "examiner_employer": "Who employs the examiner.",
    "certificate": "The number of the certificate.",
    "report_sha256": "The SHA-256 sum of the report's file, 64 digits 0-9 a-f.",
    "in": "The part that was put in.",
    "PartReplaced.in": "The part that was put in; left out where the position is emptied.",
    "out": "The part that was taken out, as far as known.",
    "Cleaned.scope": "Whether the whole unit was cleaned or a part.",
    "Cleaned.position": "Which part was cleaned, by its position.",
    "method": "How it was done.",
    "work": "What was done, by the firm's own codes.",
    "Repaired.parts": "The parts that were put in.",
    "recall": "The recall, by its reference.",
    "voiding": "The id of the voided report that the release rests on.",
    "last_place": "Where it was last seen.",
    "disposal": "How it was disposed of.",
    "Voided.event": "The id of the event that is taken back; the original stays in the log.",
    # persons
    "competences": "What the person may do.",
    "models": "The models it holds for; all of them if left out.",
    "valid_until": "The last day it holds.",
    "MedicallyCleared.until": "The last day it holds; nothing medical beside it.",
    "Assigned.until": "The last day of the assignment.",
    "passed": "Whether the fit test was passed.",
    "exercises": "The fit factor of each exercise.",
    "factor": "The fit factor that was measured, a number without unit.",
    "of": "What the person may do no longer.",
    # stock, orders, recalls
    "quantity": "How many, in `unit`.",
    "unit": "The unit of the quantity (UN/ECE Recommendation 20, such as EA).",
    "order": "The number of the order.",
    "line": "The line of the order.",
    "proposal": "The suggested reorder, by its reference.",
    "lines": "The lines of the order.",
    "within_cap": "That no manager looked at it, since the policy `order-cap` of its site approves as much. To say so "
    "approves nothing beyond the cap.",
    "OrderCancelled.proposal": "The one proposal whose part of the order is called off; all of it if left out.",
    "supplier": "The supplier, by its reference.",
    "expected_on": "The day the goods are expected.",
    "price": "The price of one `unit`, written plainly with at most four decimals.",
    "currency": "The currency (ISO 4217).",
    "RecallOpened.action": "What the recall asks for.",
    "criteria": "Which units and parts are meant: those that meet all of any one criterion. One with an item, a lot or "
    "an expiry speaks of parts that are fitted, any other of units; what is not on record counts as met.",
    "due_on": "The day by which it has to be done.",
    "notice": "The maker's notice.",
    "rehearsal": "Whether this is an exercise that withdraws nothing. Under the name of a recall that was opened in "
    "earnest it is left out, and the conflict `rehearsal-left-out` says so.",
    "lots": "Any of these lots.",
    "lot_from": "The first lot of a range. The ends of a range of lots or of serial numbers may stand either way "
    "round, since printed labels have no order of their own; days in the wrong order are refused.",
    "lot_to": "The last lot of a range.",
    "serials": "Any of these serial numbers. Alone, or with a model or days, they are those of units, and no part is "
    "found by them, though its serial number be on record: for parts give their `item` too (or a lot or an expiry), "
    "and for a component with a tag of its own a criterion of units besides.",
    "serial_from": "The first serial number of a range, either way round as with lots; of units or of parts as with "
    "`serials`.",
    "serial_to": "The last serial number of a range.",
    "made_from": "Made on this day or later. When a part was made is on no record, so that of parts it leaves "
    "out nothing.",
    "made_to": "Made on this day or earlier.",
    "received_from": "Received on this day or later: of a unit, acquired. Of parts it leaves out nothing, and all it "
    "finds is not certain: which receipt of stock a part came from is on no record.",
    "received_to": "Received on this day or earlier.",
    "expires_from": "A part with a shelf expiry on this day, or in this month, or later.",
    "expires_to": "A part with a shelf expiry on this day, or in this month, or earlier.",
    "outstanding": "The units that were not dealt with, and why. Each that the recall still bears on needs a reason, "
    "there or in an earlier closing since it was last opened for more than to inform; else the conflict "
    "`units-outstanding` names them, and the campaign goes on. It ends nothing that asks something of units and is "
    "recorded after it, however it is dated: close that once more; reasons given count. Of a key bound to sites, "
    "reasons for units there count alone. Closing clears no unit.",
    "report": "The exception report.",
    "row": "The row of the report, by the UUID that the report names it with. Where the report has no such row that "
    "the key reaches, the acknowledgement has no effect until there is one, and the conflict `no-such-row` says so.",
}
