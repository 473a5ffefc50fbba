"""Currencies: the codes of ISO 4217, as the package iso4217 has them from the list of the maintenance agency.

A currency may leave the list; so a code is asked for when it is posted, never of what is on record.
"""

from iso4217 import Currency


def is_currency(code: str) -> bool:
    """Say whether a code is one of the list now."""
    return any(known.code == code for known in Currency)
