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


@pytest.mark.parametrize(
    "message",
    [
        b"[" * 32 + b"]" * 32,
        b'{"a":' * 32 + b"1" + b"}" * 32,
        b"[" + b"[]," * 1_000 + b"[]]",
        b'["' + b"[" * 1_000 + b'"]',
        b'["\\"' + b"[" * 1_000 + b'"]',
        b'{"a":[{},{"b":[[],[]]}]}' * 100,
        b"[1}" * 10,
    ],
    ids=("lists", "objects", "many side by side", "in text", "after a quote in text", "mixed", "no JSON at all"),
)
def test_what_is_not_nested_deep_passes(message: bytes) -> None:
    """Up to 32 levels pass, however many brackets there are, and those within text count for nothing."""
    check_levels(message)


@pytest.mark.parametrize(
    "message",
    [
        b"[" * 33 + b"]" * 33,
        b'{"a":' * 33 + b"1" + b"}" * 33,
        b'[{"a":' * 17 + b"1" + b"}]" * 17,
        b"[[]," * 33 + b"1" + b"]" * 33,
        b"[" * 4_000_000,
        b'{"a":' * 800_000,
        b"[" * 2_000_000 + b"]" * 2_000_000,
        b'["a\\' * 1_000_000,
        b"[1" * 40 + b'"' + b"[" * 40,
    ],
    ids=("lists", "objects", "mixed", "with neighbours", "never closed", "objects never closed", "4 MB", "text", "cut"),
)
def test_what_is_nested_deep_is_refused(message: bytes) -> None:
    """More than 32 levels are refused, also where the text ends before they do."""
    if message.startswith(b'["a\\'):
        message = b"[" * 40 + message
    with pytest.raises(TooDeep):
        check_levels(message)
