"""Entity tags and conditions."""

import re

import pytest

from service.domain.errors import BadParameter
from service.domain.starting import Start, Versions
from service.http.etags import Tag, matched, of_content, start, tags, unchanged, written


def versions(*named: int) -> Versions:
    """Name versions."""
    return Versions(frozenset(named))


@pytest.mark.parametrize(
    ("first", "second", "strongly", "weakly"),
    [
        ('W/"1"', 'W/"1"', False, True),
        ('W/"1"', 'W/"2"', False, False),
        ('W/"1"', '"1"', False, True),
        ('"1"', '"1"', True, True),
    ],
)
def test_tags_are_compared_as_the_standard_says(first: str, second: str, strongly: bool, weakly: bool) -> None:
    """Strong and weak comparison give the table of RFC 9110 section 8.8.3.2."""
    one, other = tags("If-Match", first)[0], tags("If-Match", second)[0]

    assert one.matches_strongly(other) is strongly
    assert one.matches_weakly(other) is weakly


def test_a_list_of_tags_is_read() -> None:
    """A header may list tags, weak ones among them (the examples of RFC 9110 section 13.1.2)."""
    assert tags("If-None-Match", 'W/"xyzzy", W/"r2d2xxxx", "c3piozzzz"') == [
        Tag("xyzzy", weak=True),
        Tag("r2d2xxxx", weak=True),
        Tag("c3piozzzz"),
    ]


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ('"7",', ["7"]),
        (', "1"', ["1"]),
        ('"x",,"1"', ["x", "1"]),
        (' ,\t, "x" , ,\t"1", , ', ["x", "1"]),
        ('"a,b","c"', ["a,b", "c"]),
        ('"", "1"', ["", "1"]),
    ],
)
def test_an_empty_element_of_a_list_is_none(text: str, expected: list[str]) -> None:
    """Commas with nothing between them are passed over (RFC 9110 section 5.6.1.2), but not those of a tag."""
    assert [tag.opaque for tag in tags("If-None-Match", text)] == expected


@pytest.mark.parametrize(
    "text", ["7", '"7', '"7" "8"', "", ",", " , ,", 'w/"7"', '"a b"', '"7";"8"', '"7", *', '"7",8']
)
def test_what_is_no_tag_is_refused(text: str) -> None:
    """A tag without its quotes, or anything else that is no list of tags, is refused and the header named."""
    with pytest.raises(BadParameter) as refused:
        tags("If-Match", text)

    assert refused.value.faults[0].parameter == "If-Match"


@pytest.mark.parametrize(
    "hostile", [", ", " ", ",", '"7",', '"7" , ', '"7" ', '"', "W/", 'W/"7" ,', '"7', '"7",,\t,'], ids=repr
)
def test_a_list_is_read_once(hostile: str) -> None:
    """What almost is a list is refused at any length: reading ten million characters over and over would never end."""
    with pytest.raises(BadParameter):
        tags("If-None-Match", hostile * (10_000_000 // len(hostile)) + ";")


@pytest.mark.parametrize(
    ("if_match", "if_none_match", "expected"),
    [
        (None, None, Start()),
        ('"7"', None, Start(of=versions(7))),
        ('"7", W/"8", "9"', None, Start(of=versions(7, 9))),
        ("*", None, Start(of=Versions(each=True))),
        (" * ", None, Start(of=Versions(each=True))),
        ('W/"7"', None, Start(of=Versions(weak=True))),
        ('"another"', None, Start(of=versions())),
        ('"007"', None, Start(of=versions())),
        ('"0"', None, Start(of=versions())),
        (None, "*", Start(but=Versions(each=True))),
        (None, '"7"', Start(but=versions(7))),
        (None, 'W/"7", "8", "another"', Start(but=versions(7, 8))),
        ('"7"', "*", Start(of=versions(7), but=Versions(each=True))),
    ],
)
def test_a_change_says_what_it_starts_from(if_match: str | None, if_none_match: str | None, expected: Start) -> None:
    """Tags name versions, a weak one only those that there must not be, a foreign one none; `*` is any there is.

    RFC 9110 sections 13.1.1 and 13.1.2: If-Match compares strongly, If-None-Match weakly.
    """
    assert start(if_match, if_none_match) == expected


@pytest.mark.parametrize(
    ("if_match", "if_none_match", "header"),
    [
        ("7", None, "If-Match"),
        ('"\x80\xff', None, "If-Match"),
        (None, "7", "If-None-Match"),
        ('"7"', "", "If-None-Match"),
    ],
)
def test_what_a_change_cannot_start_from_is_refused(
    if_match: str | None, if_none_match: str | None, header: str
) -> None:
    """A condition that is none is refused with what to send instead, whatever bytes it has."""
    detail = f'{header}: Send the ETag of your last read as it came, in its quotes: {header}: "7".'
    with pytest.raises(BadParameter, match="^" + re.escape(detail)) as refused:
        start(if_match, if_none_match)
    assert refused.value.faults[0].parameter == header


@pytest.mark.parametrize(
    ("if_match", "strong", "weak"),
    [
        (None, True, True),
        ('"7"', True, False),
        ('W/"7"', False, False),
        ('"6"', False, False),
        ('"6", "7"', True, False),
        (" * ", True, True),
    ],
)
def test_a_reader_goes_on_with_what_it_had(if_match: str | None, strong: bool, weak: bool) -> None:
    """A read goes on where a tag of If-Match matches strongly, or there is anything (RFC 9110 section 13.1.1)."""
    assert (matched(if_match, '"7"'), matched(if_match, 'W/"7"')) == (strong, weak)


@pytest.mark.parametrize(
    ("if_none_match", "already"),
    [(None, False), ('"7"', True), ('W/"7"', True), ('"6"', False), ('"6", "7"', True), ("*", True)],
)
def test_a_reader_who_has_the_version_is_told_so(if_none_match: str | None, already: bool) -> None:
    """A read is answered with 304 where a tag of If-None-Match matches weakly (RFC 9110 section 13.1.2)."""
    assert unchanged(if_none_match, '"7"') is already
    assert unchanged(if_none_match, 'W/"7"') is already


def test_a_version_is_written_as_a_strong_tag() -> None:
    """Version 7 has the tag "7", in its quotes."""
    assert written(7) == '"7"'


def test_other_content_has_another_tag() -> None:
    """The tag is made of the content alone, and says whether it stands for every byte."""
    assert of_content(b"abc", weak=False) == '"ungWv48Bz-pBQUDeXa4iI7AD"'
    assert of_content(b"abc", weak=True) == 'W/"ungWv48Bz-pBQUDeXa4iI7AD"'
    assert of_content(b"abd", weak=False) != of_content(b"abc", weak=False)
