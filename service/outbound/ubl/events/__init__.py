"""Documents of purchase as the events of a firm, and back; pure, and nothing is recorded here.

    ordered.py     an order of ours, as a document        goods.py     which item is meant, and in what it is counted
    answered.py    what a response makes of an order      lots.py      how many of which lot a line counts
    on_the_way.py  what a despatch brings                 lines.py     which line of which order a line answers
    received.py    what a receipt adds to stock           receipt.py   the same, as a document

What cannot be told is a BadDocument: its faults have JSON pointers into the value that was given.
"""
