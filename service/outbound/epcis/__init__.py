"""EPCIS 2.0 (ISO/IEC 19987:2024) in the words of CBV 2.0 (ISO/IEC 19988:2024): histories handed on to other systems.

    act.py        what an event is drawn from            names.py      what things are called: addresses
    table.py      which words tell each kind             when.py       when it happened, and that it was taken back
    drawn.py      the events that tell of one act        document.py   the document around them
    objects.py, associations.py, stock.py                the three sorts of events
    parts.py, readings.py                                what they tell beside

Persons, their devices and free text are never handed on, whoever asks.
"""
