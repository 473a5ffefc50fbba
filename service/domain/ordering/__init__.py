"""Ordering: what becomes of a proposal, from its approval to the last delivery, as events tell it.

`naming` says what a proposal and the events about it are called, `acts` sorts the events, `authority` says which
approvals count, `lines` what was ordered and what has come of it, `order` how far one order is, `life` how far a
proposal is, and `book` puts all of it together: what is on order, how long suppliers took, what contradicts itself.

Nothing here depends on the order in which events came. A receipt may be on record before its order is; a voided event
never happened.
"""
