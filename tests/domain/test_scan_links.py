"""GS1 Digital Links, against the unit tests of the reference implementation (gs1/gs1-syntax-engine, `dl.c`)."""

from datetime import date

import pytest

from service.domain.scan.digital_link import is_link, read_link
from service.domain.scan.reading import MOST_ELEMENTS, Unreadable

TODAY = date(2026, 3, 2)
ITEM = "https://a/01/12312312312333"

#: `test_dl_parseDLuri`: the address, and what it says with its identifiers in brackets.
LINKS = (
    (f"{ITEM}/22/TEST/10/ABC/21/XYZ", "(01)12312312312333(22)TEST(10)ABC(21)XYZ"),
    (f"{ITEM}/235/TEST", "(01)12312312312333(235)TEST"),
    ("https://a/253/1231231231232", "(253)1231231231232"),
    ("https://a/253/1231231231232TEST5678901234567", "(253)1231231231232TEST5678901234567"),
    ("https://a/8018/123456789012345675/8019/123", "(8018)123456789012345675(8019)123"),
    ("https://a/stem/00/006141411234567890?", "(00)006141411234567890"),
    ("https://a/stem/00/006141411234567890?99=ABC", "(00)006141411234567890(99)ABC"),
    ("https://a/stem/401/12345678?99=ABC", "(401)12345678(99)ABC"),
    ("https://a/00/faux/00/006141411234567890", "(00)006141411234567890"),
    (f"{ITEM}?99=ABC&98=XYZ", "(01)12312312312333(99)ABC(98)XYZ"),
    (f"{ITEM}?&&&99=ABC&&&&&&98=XYZ&&&", "(01)12312312312333(99)ABC(98)XYZ"),
    (f"{ITEM}?99=ABC&unknown=666&98=XYZ", "(01)12312312312333(99)ABC(98)XYZ"),
    (f"{ITEM}?singleton1&unknown1=555&99=ABC&singleton2&98=XYZ&singleton3", "(01)12312312312333(99)ABC(98)XYZ"),
    (f"{ITEM}/22/ABC%2d123?99=ABC&98=XYZ%2f987", "(01)12312312312333(22)ABC-123(99)ABC(98)XYZ/987"),
    (f"{ITEM}/22/ABC+123?99=ABC&98=XYZ%2f987", "(01)12312312312333(22)ABC+123(99)ABC(98)XYZ/987"),
    (f"{ITEM}/22/test/10/abc/21/xyz#fragment", "(01)12312312312333(22)test(10)abc(21)xyz"),
    ("https://a/stem/00/006141411234567890?99=ABC#", "(00)006141411234567890(99)ABC"),
    (
        "https://id.gs1.org/01/09520123456788/10/ABC1/21/12345?17=180426",
        "(01)09520123456788(10)ABC1(21)12345(17)180426",
    ),
    ("https://id.gs1.org/01/09520123456788?3103=000195", "(01)09520123456788(3103)000195"),
    (
        "https://id.gs1.org/00/952012345678912345?02=09520123456788&37=25&10=ABC123",
        "(00)952012345678912345(02)09520123456788(37)25(10)ABC123",
    ),
    ("https://id.gs1.org/414/9520123456788/254/32a%2Fb", "(414)9520123456788(254)32a/b"),
    ("https://a/8004/9520614141234567?01=09521234543213", "(8004)9520614141234567(01)09521234543213"),
    ("https://example.com/8004/9520614141234567?01=9520123456788", "(8004)9520614141234567(01)09520123456788"),
    ("https://id.gs1.org/01/09520123456788/235/XYZ?10=ABC123", "(01)09520123456788(235)XYZ(10)ABC123"),
    ("http://a/01/12312312312333", "(01)12312312312333"),
    ("HTTP://a/01/12312312312333", "(01)12312312312333"),
    ("HTTPS://a/01/12312312312333", "(01)12312312312333"),
)


@pytest.mark.parametrize(("address", "says"), LINKS)
def test_links_of_the_reference_are_read(address: str, says: str) -> None:
    """The rightmost key and its qualifiers are read, then the query; what is no identifier there is passed over."""
    assert is_link(address)
    assert "".join(f"({one.identifier}){one.value}" for one in read_link(address, TODAY)) == says


#: `test_dl_parseDLuri`, those that must fail; those in other words than numbers, and `/10/.../22/...`, of the syntax
#: dictionary's key `dlpkey`.
NO_LINKS = (
    "https://a/253/1231231231232TEST56789012345678",
    "https://a/stem/00/006141411234567890/",
    f"{ITEM}?99=",
    f"{ITEM}?99=ABC&999=faux",
    f"{ITEM}/22/ABC%2d123?99=ABC&98=XYZ+987",
    "https://a/01/02345673",
    "https://a/01/9520123456788",
    "https://example.com/01/09520123456788?10=ABC123",
    "https://id.gs1.org/01/09520123456788/10/ABC123?99=XYZ789&01=09520123456788",
    "https://id.gs1.org/01/09520123456788/10/ABC123?99=XYZ789&10=ABC123",
    "https://id.gs1.org/01/09520123456788/10/ABC123?99=XYZ789&99=XYZ789",
    "https://example.com/01/09520123456788/89/ABC123?99=XYZ",
    "https://example.com/01/09520123456788?99=XYZ&89=ABC123",
    "HtTp://a/01/12312312312333",
    "https://a/gtin/12312312312333",
    "https://a/01/12312312312334",
    f"{ITEM}/10/ABC/22/TEST",
    "https://a/00/006141411234567890/21/ABC",
    f"{ITEM}/22/ABC/235/XYZ",
    "https://a",
    "https:///01/12312312312333",
    "ftp://a/01/12312312312333",
    "javascript:alert(1)//a/01/12312312312333",
    f"{ITEM}/10/%00",
    f"{ITEM}/10/%ff",
    f"{ITEM}/10/%25252525252541%E2%80%AE",
    f"{ITEM}?3103=%D9%A2%D9%A9%D9%A0%D9%A5%D9%A3%D9%A1",
    f"{ITEM}?30=%EF%BC%91",
)


@pytest.mark.parametrize("address", NO_LINKS)
def test_links_that_the_reference_refuses_are_refused(address: str) -> None:
    """A slash at the end, an empty value, a number that is no identifier, aliases, other digits are no link."""
    with pytest.raises(Unreadable):
        read_link(address, TODAY)


@pytest.mark.parametrize("address", ["https://a/gtin/12312312312333", "HtTp://a/01/12312312312333", "https://a/x"])
def test_an_address_without_a_key_is_another_sort_of_text(address: str) -> None:
    """What names no key of GS1 is no faulty link, but none."""
    assert not is_link(address)


def test_no_more_of_a_link_is_read_than_any_code_has() -> None:
    """An address may have a thousand values behind it: a hundred such scans held up whoever else asked for seconds."""
    with pytest.raises(Unreadable, match="more than 64 elements are in no code"):
        read_link(f"{ITEM}?" + "99=ABC&" * MOST_ELEMENTS, TODAY)
