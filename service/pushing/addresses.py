"""Which addresses events are sent to: public ones, and if the operator allows it private ones and this machine's own.

What is asked for by name may resolve to anything, so it is the address that is judged, and connected to as judged. The
tables are those of the IANA special-purpose registries (RFC 6890) and of multicast; of IPv6 only 2000::/3 is given out
to the public (RFC 4291 section 2.4), so that all forms in which an IPv4 address hides in one are outside or listed.
"""

from ipaddress import IPv4Address, IPv6Address, IPv6Network, ip_address, ip_network
from typing import Final

GLOBAL: Final = IPv6Network("2000::/3")
#: What an operator may allow.
PRIVATE: Final = tuple(
    ip_network(text)
    for text in (
        "127.0.0.0/8",  # loopback, RFC 1122 section 3.2.1.3
        "::1/128",  # loopback, RFC 4291
        "10.0.0.0/8",  # private use, RFC 1918
        "172.16.0.0/12",  # private use, RFC 1918
        "192.168.0.0/16",  # private use, RFC 1918
        "fc00::/7",  # unique local, RFC 4193
    )
)
#: What nobody allows.
NEVER: Final = tuple(
    ip_network(text)
    for text in (
        "0.0.0.0/8",  # this network, and the unspecified address, RFC 791
        "100.64.0.0/10",  # shared between carriers and their customers, RFC 6598
        "169.254.0.0/16",  # link-local, RFC 3927: where clouds tell machines their secrets
        "192.0.0.0/24",  # IETF protocol assignments, RFC 6890
        "192.0.2.0/24",  # documentation, RFC 5737
        "192.88.99.0/24",  # relays of 6to4, RFC 7526
        "198.18.0.0/15",  # benchmarking, RFC 2544
        "198.51.100.0/24",  # documentation, RFC 5737
        "203.0.113.0/24",  # documentation, RFC 5737
        "224.0.0.0/4",  # multicast, RFC 5771
        "240.0.0.0/4",  # reserved, and limited broadcast, RFC 1112 and RFC 919
        "2001::/23",  # IETF protocol assignments, Teredo within them, RFC 2928 and RFC 4380
        "2001:db8::/32",  # documentation, RFC 3849
        "2002::/16",  # 6to4, an IPv4 address within, RFC 3056
        "3fff::/20",  # documentation, RFC 9637
    )
)


def is_allowed(text: str, *, private: bool) -> bool:
    """Say whether an address may be connected to; `private`: whether the operator allows private ones."""
    address = ip_address(text)
    if any(address in network for network in PRIVATE):
        return private
    return not any(address in network for network in NEVER) and _is_given_out(address)


def is_loopback(text: str) -> bool:
    """Say whether an address is this machine's own."""
    return ip_address(text).is_loopback


def _is_given_out(address: IPv4Address | IPv6Address) -> bool:
    """Say whether an address is of those given out: mapped, translated, link-local and multicast IPv6 is not."""
    return isinstance(address, IPv4Address) or address in GLOBAL
