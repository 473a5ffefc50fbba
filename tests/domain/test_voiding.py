import pytest

from service.domain.voiding import every_voiding, own, voidings
from tests.domain.units import event, row
from tests.oracle.firm import check, tell
from tests.oracle.posting import Posted, say


def void(target: int, by: str = "m-1", key: str = "office") -> Posted:
    """Void the numbered event."""
    return say("voided", "2026-03-03 08:00", by, event=str(event(target)), reason="wrong unit", key=key)


CHECK = row(check("2026-03-02 08:00"), 1)


def test_an_event_that_a_voiding_names_is_taken_back() -> None:
    """A voiding takes back the event it names, and no other."""
    first = row(void(1), 2)
    assert voidings([CHECK, first]) == {event(1): first}


def test_a_voided_voiding_restores() -> None:
    """Where the voiding itself is taken back, the event stands again."""
    assert voidings([CHECK, row(void(1), 2), row(void(2), 3)]).keys() == {event(2)}


def test_a_voiding_restored_takes_back_again() -> None:
    """Where the voiding of the voiding is taken back, the event is taken back."""
    rows = [CHECK, row(void(1), 2), row(void(2), 3), row(void(3), 4)]
    assert voidings(rows).keys() == {event(1), event(3)}


def test_every_voiding_in_force_is_given_by_id() -> None:
    """Several voidings of one event are all in force, in the order of their ids, whatever order they are read in."""
    two, three = row(void(1), 2), row(void(1), 3)
    assert every_voiding([three, CHECK, two]) == {event(1): (two, three)}
    assert voidings([three, CHECK, two]) == {event(1): two}


def test_one_voiding_left_is_enough() -> None:
    """An event is taken back as long as one of its voidings stands."""
    assert voidings([CHECK, row(void(1), 2), row(void(1), 3), row(void(2), 4)])[event(1)].event.id == event(3)


@pytest.mark.parametrize(
    ("by", "key", "imported", "original_imported", "expected"),
    [
        ("p-9", "desk", False, False, True),
        ("m-1", "desk", False, False, False),
        ("m-1", "office", False, False, True),
        ("m-1", "office", True, False, False),
        ("m-1", "office", False, True, False),
        ("m-1", "office", True, True, False),
        ("p-9", "office", True, True, True),
    ],
)
def test_ones_own_is_what_one_said_oneself(
    by: str, key: str, imported: bool, original_imported: bool, expected: bool
) -> None:
    """The same person, or the same key unless one of the two was imported, said both (R27)."""
    original = row(tell("quarantined", "2026-03-02 08:00", reason="other"), 1, imported=original_imported)
    assert own(row(void(1, by, key=key), 2, imported=imported), original) is expected
