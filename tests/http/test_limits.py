"""What one request may carry."""

import pytest

from service.domain.errors import TooDeep, TooLarge
from service.http.limits import check_count, check_levels, too_many_bytes


def test_a_batch_has_at_most_a_thousand_events() -> None:
    """A batch of 1,000 events passes, one of 1,001 is refused and told the limit."""
    check_count(1_000)
    with pytest.raises(TooLarge) as refused:
        check_count(1_001)

    assert refused.value.problem().members == {"limit": 1_000}


def test_a_body_has_at_most_four_mebibytes() -> None:
    """A body that is too long is told the limit in bytes."""
    assert too_many_bytes().problem().members == {"limit": 4_194_304}


SHALLOW = {
    "nothing nested": (b'"a"', 32),
    "lists": (b"[" * 32 + b"]" * 32, 0),
    "objects": (b'{"a":' * 32 + b"1" + b"}" * 32, 0),
    "many side by side": (b"[" + b"[]," * 1_000 + b"[]]", 30),
    "in text": (b'["' + b"[" * 1_000 + b'"]', 31),
    "after a quote in text": (b'["\\"' + b"[" * 1_000 + b'"]', 31),
    "mixed": (b'{"a":[{},{"b":[[],[]]}]}' * 100, 27),
    "objects in lists, each beside another": (b'[{},{"a":' * 10 + b"1" + b"}]" * 10, 12),
    "side by side": (b"[" + b"[" * 30 + b"]" * 30 + b"[" * 31 + b"]" * 31 + b"]", 0),
    "no JSON at all": (b"[1}" * 100, 31),
}
"""Messages, and how many levels each may be nested in besides."""


@pytest.mark.parametrize(("message", "room"), SHALLOW.values(), ids=SHALLOW)
def test_exactly_thirty_two_levels_pass(message: bytes, room: int) -> None:
    """Nested as deep as may be a message passes, and one level deeper it does not.

    However many brackets there are, those within text count for nothing.
    """

    def passes(more: int) -> bool:
        try:
            check_levels(b"[" * more + message + b"]" * more)
        except TooDeep:
            return False
        return True

    assert [passes(more) for more in (0, room, room + 1)] == [True, True, False]


def beside(levels: int) -> bytes:
    """Nest lists, each beside one that is nested almost as deep."""
    if levels <= 2:
        return b"[" * levels + b"]" * levels
    return b"[" + b"[" * (levels - 2) + b"]" * (levels - 2) + beside(levels - 1) + b"]"


DEEP = {
    "lists": b"[" * 33 + b"]" * 33,
    "objects": b'{"a":' * 33 + b"1" + b"}" * 33,
    "mixed": b'[{"a":' * 17 + b"1" + b"}]" * 17,
    "with neighbours": b"[[]," * 33 + b"1" + b"]" * 33,
    "never closed": b"[" * 4_000_000,
    "objects never closed": b'{"a":' * 800_000,
    "4 MB": b"[" * 2_000_000 + b"]" * 2_000_000,
    "text": b"[" * 40 + b'["a\\' * 1_000_000,
    "cut": b"[1" * 40 + b'"' + b"[" * 40,
    "beside others as deep": beside(33),
}


@pytest.mark.parametrize("message", DEEP.values(), ids=DEEP)
def test_what_is_nested_deep_is_refused(message: bytes) -> None:
    """More than 32 levels are refused, also where the text ends before they do."""
    with pytest.raises(TooDeep):
        check_levels(message)
