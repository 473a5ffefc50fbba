"""Entity tags and conditions."""

import pytest

from service.domain.errors import BadParameter
from service.http.etags import NO_VERSION, Tag, expected_version, tags, unchanged, written


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


@pytest.mark.parametrize("text", ["7", '"7', '"7" "8"', '"7",', "", 'w/"7"', '"a b"', '"7";"8"'])
def test_what_is_no_tag_is_refused(text: str) -> None:
    """A tag without its quotes, or anything else that is no list of tags, is refused and the header named."""
    with pytest.raises(BadParameter) as refused:
        tags("If-Match", text)

    assert refused.value.faults[0].parameter == "If-Match"


@pytest.mark.parametrize(
    ("if_match", "if_none_match", "expected"),
    [
        (None, None, None),
        ('"7"', None, 7),
        (None, "*", 0),
        ('W/"7"', None, NO_VERSION),
        ('"another"', None, NO_VERSION),
        ('"007"', None, NO_VERSION),
        ('"0"', None, NO_VERSION),
        ('"7"', "*", 7),
    ],
)
def test_a_change_says_what_it_starts_from(
    if_match: str | None, if_none_match: str | None, expected: int | None
) -> None:
    """A strong tag names its version, `*` that there is none yet; a weak or foreign tag matches no version."""
    assert expected_version(if_match, if_none_match) == expected


@pytest.mark.parametrize(("if_match", "if_none_match"), [('"7", "8"', None), ("*", None), (None, '"7"'), (None, "7")])
def test_a_change_starts_from_one_version(if_match: str | None, if_none_match: str | None) -> None:
    """A condition that names no version or more than one is refused."""
    with pytest.raises(BadParameter):
        expected_version(if_match, if_none_match)


@pytest.mark.parametrize(
    ("if_none_match", "already"),
    [(None, False), ('"7"', True), ('W/"7"', True), ('"6"', False), ('"6", "7"', True), ("*", True)],
)
def test_a_reader_who_has_the_version_is_told_so(if_none_match: str | None, already: bool) -> None:
    """A read is answered with 304 where a tag of If-None-Match matches weakly (RFC 9110 section 13.1.2)."""
    assert unchanged(if_none_match, 7) is already


def test_a_version_is_written_as_a_strong_tag() -> None:
    """Version 7 has the tag "7", in its quotes."""
    assert written(7) == '"7"'
