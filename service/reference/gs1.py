"""GS1 application identifiers (AIs): what goes with what, what is checked, and which begin a Digital Link.

Source of every row: the GS1 Application Identifier Syntax Dictionary (gs1/gs1-syntax-dictionary,
`gs1-syntax-dictionary.txt`, Apache-2.0), keys `req`, `ex`, `dlpkey` and the linters `csum` and `csumalpha`. The formats
themselves are those of the package biip. There are rows for what stands on parts, boxes and assets; an identifier
without a row goes with any other. "31nn" means every identifier that begins with 31.
"""

from collections.abc import Mapping
from typing import Final

GOODS: Final = ("01", "02", "03", "8006", "8026")

REQUIRED: Final[Mapping[str, tuple[tuple[str, ...], ...]]] = {
    "02": (("37",),),
    "10": (GOODS,),
    "11": (GOODS,),
    "12": (("8020",),),
    "13": (GOODS,),
    "15": (GOODS,),
    "16": (GOODS,),
    "17": ((*GOODS, "255"),),
    "20": (GOODS,),
    "21": (("01", "03", "8006"),),
    "22": (("01",),),
    "235": (("01",),),
    "240": (GOODS,),
    "241": (GOODS,),
    "242": (GOODS,),
    "243": (("01",),),
    "250": (("01", "8006"), ("21",)),
    "251": (("01", "8006"),),
    "254": (("414",),),
    "30": (("01", "02"),),
    "37": (("00",), ("02", "8026")),
    "392n": (("01",), ("30", "31nn", "32nn", "35nn", "36nn")),
    "403": (("00",),),
    "415": (("8020",),),
    "7003": (GOODS,),
    "8020": (("415",),),
}
"""What an identifier needs beside it: of every group one."""

EXCLUDED: Final[Mapping[str, tuple[str, ...]]] = {
    "01": ("02", "255", "37"),
    "21": ("235",),
    "8006": ("01", "37"),
    "8026": ("02", "8006"),
    "255": ("01", "02", "415", "8006", "8020", "8026"),
}
"""What an identifier does not stand with."""

CHECKED: Final[Mapping[str, int]] = {
    "00": 18,
    **dict.fromkeys(("01", "02", "03"), 14),
    **dict.fromkeys(("253", "255"), 13),
    "402": 17,
    **dict.fromkeys(("410", "411", "412", "413", "414", "415", "416", "417"), 13),
    "8003": 14,
    **dict.fromkeys(("8006", "8026"), 14),
    **dict.fromkeys(("8017", "8018"), 18),
}
"""How many digits at the beginning of a value end in a check digit."""
PAIR_CHECKED: Final = frozenset({"8013", "8014"})
"""Whose value ends in a check pair."""

LINK_KEYS: Final[Mapping[str, tuple[tuple[str, ...], ...]]] = {
    "00": (),
    "01": (("22", "10", "21"), ("235",)),
    "253": (),
    "255": (),
    "401": (),
    "402": (),
    "414": (("254",), ("7040",)),
    "415": (("8020",),),
    "417": (("7040",),),
    "8003": (),
    "8004": (("7040",),),
    "8006": (("22", "10", "21"),),
    "8010": (("8011",),),
    "8013": (),
    "8017": (("8019",),),
    "8018": (("8019",),),
}
"""The keys of a Digital Link, each with the qualifiers that may follow in its path, in their order."""

DATES: Final = frozenset({"11", "12", "13", "15", "16", "17", "7003", "7006"})
"""Whose value begins with a date, YYMMDD; a day 00 is the last of the month (`yymmd0`)."""
WHOLE_DAYS: Final = frozenset({"7003", "7006"})
"""Which of them always name a day."""
TIMES: Final = frozenset({"7003"})
"""In which an hour and a minute follow the date (`hhmi`)."""
