"""Opaque cursors."""

import base64
from datetime import UTC, datetime
from uuid import UUID

import pytest

from service.domain.errors import BadCursor
from service.http.cursors import Cursor, seal, stamp, unseal
from service.page import moment_and_name, number

OURS = UUID("0198c1f2-0000-7000-8000-000000000001")
FOREIGN = UUID("0198c1f2-0000-7000-8000-000000000002")
QUESTION = "/v1/assets?site=harrow-dock"


def test_a_cursor_is_read_as_it_was_written() -> None:
    """What was sealed comes back whole, in letters that an address takes as they are."""
    cursor = Cursor("FX-0142 ü", {"as_at": "2026-03-02T12:00:00+00:00"})
    text = seal(cursor, QUESTION, OURS)

    assert unseal(text, QUESTION, OURS) == cursor
    assert set(text) <= set("ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-_")


@pytest.mark.parametrize(
    ("question", "organisation"),
    [("/v1/assets?site=east-yard", OURS), ("/v1/rejected?site=harrow-dock", OURS), (QUESTION, FOREIGN)],
)
def test_a_cursor_holds_for_one_question(question: str, organisation: UUID) -> None:
    """A cursor is refused where the filter, the list or the organisation is another."""
    text = seal(Cursor("FX-0142"), QUESTION, OURS)

    with pytest.raises(BadCursor):
        unseal(text, question, organisation)


def test_a_changed_cursor_is_refused() -> None:
    """A cursor is refused whichever of its letters is changed."""
    text = seal(Cursor("FX-0142"), QUESTION, OURS)
    changed = [
        text[:place] + ("A" if text[place] != "A" else "B") + text[place + 1 :] for place in range(len(text) - 1)
    ]

    for other in changed:
        with pytest.raises(BadCursor):
            unseal(other, QUESTION, OURS)


@pytest.mark.parametrize("text", ["", "a", "abc", "48211", "%%%", "ü", "====", "A" * 1_000])
def test_what_is_no_cursor_is_refused(text: str) -> None:
    """Whatever this service did not write is refused as a cursor, never as a fault of the service."""
    with pytest.raises(BadCursor):
        unseal(text, QUESTION, OURS)


@pytest.mark.parametrize("content", [b"", b"x", b"[]", b'{"key":1}', b'{"key":"\xff"}'])
def test_a_cursor_that_was_sealed_by_somebody_else_is_refused(content: bytes) -> None:
    """Whoever knows an organisation's id can seal what is no cursor; it is refused like any other."""
    forged = base64.urlsafe_b64encode(stamp(content, QUESTION, OURS) + content).decode().rstrip("=")

    with pytest.raises(BadCursor):
        unseal(forged, QUESTION, OURS)


@pytest.mark.parametrize("key", ["x", "-1", "1.5", "\u0661", "9" * 19, "9" * 5000])
def test_a_key_that_is_no_number_is_refused(key: str) -> None:
    """Where a list goes on by number, nothing else is read as one."""
    with pytest.raises(BadCursor):
        number(key)
    assert [number(None), number("0"), number("48211")] == [0, 0, 48211]


@pytest.mark.parametrize("key", ["", "x", "2026-03-02T12:00:00+00:00", "2026-03-02T12:00:00+00:00 x", "x " + str(OURS)])
def test_a_key_that_is_no_place_in_time_is_refused(key: str) -> None:
    """Where a list goes on by moment and name, both have to be there."""
    with pytest.raises(BadCursor):
        moment_and_name(key)
    assert moment_and_name(f"2026-03-02T12:00:00+00:00 {OURS}") == (datetime(2026, 3, 2, 12, tzinfo=UTC), OURS)
