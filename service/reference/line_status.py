"""What suppliers say of a line of an order: codes of UN/EDIFACT 1229.

Source: the subset that Peppol uses in order responses (OpenPEPPOL/poacc-upgrade-3, structure/codelist/UNCL1229.xml,
D.17A; read). Other systems write words of their own; of those nothing is known here.
"""

from collections.abc import Mapping
from typing import Final

LINE_STATUS: Final[Mapping[str, str]] = {
    "1": "added",
    "3": "accepted with changes",
    "5": "accepted",
    "7": "refused",
    "42": "delivered already",
}
