"""What things are called in EPCIS: addresses of the firm's own, since no GTIN is ever invented.

A unit is called by what the code of its label says. Where the operator has set no address for labels, addresses begin
with a host that never is any (RFC 6761 section 6.4): they are the only ones of their kind, but lead nowhere.
"""

from urllib.parse import quote
from uuid import UUID

import msgspec

from service.domain.scan.label import label_text

NOWHERE = "https://id.invalid"
PREFIX = "respirators"
"""Stands before every member and word of our own; what it means, the context of a document says."""


class Names(msgspec.Struct, frozen=True):
    """The names that an organisation's things have below an address."""

    address: str
    organisation: UUID

    def unit(self, tag: str) -> str:
        """Name a unit as its label does."""
        return label_text(self.address, self.organisation, tag)

    def thing(self, *steps: str) -> str:
        """Name anything else: `thing("sites", "harrow-dock", "places", "store-a")`."""
        return "/".join((self.address, str(self.organisation), *(quote(step, safe="") for step in steps)))

    def place(self, site: str, place: str | None) -> str:
        """Name a place of a site, or the site."""
        return self.thing("sites", site, *(() if place is None else ("places", place)))

    def term(self, word: str) -> str:
        """Name a word that CBV has no word for."""
        return self.thing("terms", word)


def own(member: str) -> str:
    """Name a member of an event that EPCIS has none for."""
    return f"{PREFIX}:{member}"


def names(address: str | None, organisation: UUID) -> Names:
    """Name the things of an organisation below an address, if the operator has set one."""
    return Names(address or NOWHERE, organisation)
