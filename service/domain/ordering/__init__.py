"""Ordering: what becomes of a proposal, from its approval to the last delivery, as events tell it.

`naming` says what a proposal and the events about it are called, `asked` what is asked at its doors, `acts` sorts the
events, `reach` says whose count where, `authority` which approvals do, `approval` how far one goes, `costs` for how
much money; `lines` what was ordered and what has come of it, `order` how far one order is, `parts` puts it together,
`life` how far a proposal is, `leads` how long orders took, `waiting` how long is waited, `units` what nobody can add
up, `supply` what is on its way, `shares` what came for which part; and `book` has all of it.

Nothing here depends on the order in which events came. A receipt may be on record before its order is; a voided event
never happened.
"""
