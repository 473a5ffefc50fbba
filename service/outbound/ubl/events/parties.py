"""Who buys and where goods go, as a site is defined: its employer is the buyer, the site itself the place."""

from service.domain.kinds.site_defined import SiteDefined
from service.outbound.ubl.parts import Address, Delivery, Party

MOST_ADDRESS_LINES = 10


def buyer_of(site: SiteDefined | None) -> Party:
    """Give the employer of a site with the address as it is printed; a party that says nothing for no site."""
    if site is None:
        return Party()
    return Party(name=site.employer.name, address=Address(lines=printed(site.employer.address)))


def place_of(site: SiteDefined | None) -> Delivery | None:
    """Give the place of delivery, by reference and name: of its address nothing is known but its employer's."""
    return None if site is None else Delivery(site=site.site, name=site.name)


def printed(address: str) -> tuple[str, ...]:
    """Give the lines of an address without those that say nothing; all that are too many stand in the last."""
    lines = [" ".join(line.split()) for line in address.splitlines()]
    said = [line for line in lines if line]
    last = said[MOST_ADDRESS_LINES - 1 :]
    return (*said[: MOST_ADDRESS_LINES - 1], *([", ".join(last)] if last else []))
