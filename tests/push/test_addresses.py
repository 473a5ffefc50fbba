import pytest

from service.pushing.addresses import is_allowed
from service.pushing.target import BadTarget, Target, may_connect, target_of

PUBLIC = (
    *("1.1.1.1", "8.8.8.8", "172.32.0.1", "100.128.0.1", "192.0.1.1"),
    *("2606:4700:4700::1111", "2a00:1450:4001::200e"),
)
PRIVATE = (
    *("127.0.0.1", "127.8.8.8", "10.0.0.1", "172.16.0.1", "172.31.255.255", "192.168.1.1"),
    *("::1", "fd00::1", "fc00::1"),
)
NEVER = (
    "0.0.0.0",  # noqa: S104 - nothing is bound
    "0.1.2.3",
    "100.64.0.1",
    "100.127.255.255",
    "169.254.169.254",
    "192.0.0.8",
    "192.0.2.1",
    "192.88.99.1",
    "198.18.0.1",
    "198.51.100.1",
    "203.0.113.1",
    "224.0.0.1",
    "239.255.255.250",
    "240.0.0.1",
    "255.255.255.255",
    "::",
    "::127.0.0.1",
    "::ffff:127.0.0.1",
    "::ffff:10.0.0.1",
    "::ffff:8.8.8.8",
    "64:ff9b::7f00:1",
    "64:ff9b::808:808",
    "64:ff9b:1::a00:1",
    "fe80::1",
    "fe80::1%eth0",
    "fec0::1",
    "ff02::1",
    "100::1",
    "2001::1",
    "2001:db8::1",
    "2002:7f00:1::",
    "3fff::1",
    "5f00::1",
)


@pytest.mark.parametrize("address", PUBLIC)
def test_public_addresses_are_sent_to(address: str) -> None:
    """What is given out to the public is sent to, whatever the operator allows."""
    assert is_allowed(address, private=False)
    assert is_allowed(address, private=True)


@pytest.mark.parametrize("address", PRIVATE)
def test_private_addresses_are_for_the_operator_to_allow(address: str) -> None:
    """Private addresses, and those of this machine, are sent to where the operator allows it, and nowhere else."""
    assert not is_allowed(address, private=False)
    assert is_allowed(address, private=True)


@pytest.mark.parametrize("address", NEVER)
def test_special_addresses_are_never_sent_to(address: str) -> None:
    """Link-local, shared, reserved and multicast ones, and IPv4 hidden in IPv6, are nobody's to allow."""
    assert not is_allowed(address, private=False)
    assert not is_allowed(address, private=True)


@pytest.mark.parametrize(
    ("url", "target"),
    [
        ("https://erp.example.com", Target("erp.example.com", 443, "/", tls=True)),
        ("https://ERP.example.com:8443/a?b=c", Target("erp.example.com", 8443, "/a?b=c", tls=True)),
        ("https://8.8.8.8/", Target("8.8.8.8", 443, "/", tls=True)),
    ],
)
def test_an_address_is_taken_apart(url: str, target: Target) -> None:
    """A host, a port, what is asked for there, and whether over TLS."""
    assert target_of(url, private=False) == target


@pytest.mark.parametrize(
    "url",
    [
        "http://erp.example.com/",
        "ftp://erp.example.com/",
        "https://user@erp.example.com/",
        "https://erp.example.com/#part",
        "https://erp.example.com:22/",
        "https://erp.example.com:80/",
        "https://erp.example.com:99999/",
        "https://erp.example.com/a b",
        "https://erp.example.com/\r\nX: y",
        "https://[::1]/",
        "https://127.0.0.1/",
        "https://169.254.169.254/latest",
        "https://",
        "",
    ],
)
def test_an_unsafe_form_is_no_address(url: str) -> None:
    """What is not https, names a user, a low port or a private address, or breaks out of its line, is refused."""
    with pytest.raises(BadTarget):
        target_of(url, private=False)


def test_without_tls_only_this_machine_is_reached() -> None:
    """Where the operator allows private addresses, http reaches the loopback and nothing beyond."""
    plain, secure = (target_of(f"{scheme}://inside.example:8080/", private=True) for scheme in ("http", "https"))
    assert may_connect(plain, "127.0.0.1", private=True)
    assert not may_connect(plain, "10.0.0.1", private=True)
    assert not may_connect(plain, "8.8.8.8", private=True)
    assert may_connect(secure, "10.0.0.1", private=True)
    with pytest.raises(BadTarget):
        target_of("http://inside.example/", private=True)  # port 80
