"""Stock: how much of an item there is at a site, told from events alone.

    changes.py   what an event says of stock: something came, went, or was counted
    lines.py     what tells stock apart: site, item, lot, expiry and unit, as they are compared
    arrivals.py  what was moved here has the expiry of its lot, as it is told anywhere
    shelf.py     how much there is of one line, place by place
    keeping.py   the fold of changes, in the order of truth, under one of two readings
    as_said.py   the cautious reading, for recalls: what may still be there counts as there, nothing is guessed
    by_book.py   the reading of ledgers: what is not said is what is at hand, and what was not there is owed
    likeness.py  which lines a change may speak of, and which first; stocktaking.py what a count says of each
    missed.py    what counts did not find any more, recounts netted
    ledger.py    the entries of an item at a site with their balances, and what is left
    homes.py     where a part was fitted that nobody said it of
    traces.py    under what an event is filed, so that the stock of a site is found

The fold is one and so is the shelf; the readings differ in which lines a change bears on where it leaves something
unsaid, and in what becomes of a quantity that was not there.
"""
