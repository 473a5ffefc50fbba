"""Opaque cursors."""

from uuid import UUID

import pytest

from service.domain.errors import BadCursor
from service.http.cursors import Cursor, seal, unseal

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
