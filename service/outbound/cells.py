"""Texts in the cells of a table that a spreadsheet opens: none is taken for a formula, and each is read back as it was.

A text that a spreadsheet might take for a formula has an apostrophe before it, and so has one that would look as if it
had been given one.
"""

from typing import Final

MARK: Final = "\ufeff"
"""Before the table: without it spreadsheets read UTF-8 as an encoding of the machine."""
FORMULA: Final = ("=", "+", "-", "@", "\uff1d", "\uff0b", "\uff0d", "\uff20")
"""Beginnings of a formula, in full width too."""
DROPPED: Final = ("\t", "\r", "\n")
"""What a spreadsheet may drop before it reads on; a text that begins so is guarded whatever comes after."""
GUARD: Final = "'"


def guarded(text: str) -> str:
    """Give a text as a cell."""
    return GUARD + text if _dangerous(text.lstrip(GUARD)) else text


def unguarded(cell: str) -> str:
    """Give the text of a cell."""
    return cell[1:] if cell.startswith(GUARD) and _dangerous(cell.lstrip(GUARD)) else cell


def _dangerous(text: str) -> bool:
    return text.startswith(DROPPED) or text.lstrip().startswith(FORMULA)
