"""Where a webhook points, taken apart; whatever is unsafe to connect to by its form alone is refused here."""

from ipaddress import ip_address
from typing import Final, NamedTuple
from urllib.parse import urlsplit

from service.domain.webhook import URL
from service.pushing.addresses import is_allowed, is_loopback

HTTPS: Final = 443
HTTP: Final = 80
FIRST_FREE: Final = 1024
"""Below it are the ports of systems' own services, mail and files among them; receivers are at 443 or above."""
LAST: Final = 65_535


class Target(NamedTuple):
    """A host by name or address, a port, and what is asked for there; `tls`: over https."""

    host: str
    port: int
    path: str
    tls: bool

    @property
    def authority(self) -> str:
        """Give what the header `Host` says (RFC 9110 section 7.2)."""
        return self.host if self.tls and self.port == HTTPS else f"{self.host}:{self.port}"


class BadTarget(ValueError):
    """An address that nothing is sent to; its text says why, and what to give instead."""


def target_of(url: str, *, private: bool) -> Target:
    """Take an address apart. Raises BadTarget."""
    if not URL.fullmatch(url):
        message = "give an address such as https://erp.example.com/hooks, without a user and a fragment"
        raise BadTarget(message)
    parts = urlsplit(url)
    tls = parts.scheme == "https"
    host, _, said = parts.netloc.partition(":")
    port = int(said) if said else HTTPS if tls else HTTP
    if not tls and not private:
        message = "give an https address: what is sent over http can be read on its way"
        raise BadTarget(message)
    if not (port == HTTPS or FIRST_FREE <= port <= LAST):
        message = f"give port {HTTPS}, or one from {FIRST_FREE} to {LAST}"
        raise BadTarget(message)
    if is_address(host) and not is_allowed(host, private=private):
        message = "give a public address: this one is reserved or private"
        raise BadTarget(message)
    path = (parts.path or "/") + (f"?{parts.query}" if parts.query else "")
    return Target(host.lower(), port, path, tls)


def is_address(host: str) -> bool:
    """Say whether a host is given by its address."""
    try:
        ip_address(host)
    except ValueError:
        return False
    return True


def may_connect(target: Target, address: str, *, private: bool) -> bool:
    """Say whether a target may be reached at an address: without TLS on this machine alone."""
    return is_allowed(address, private=private) and (target.tls or is_loopback(address))
