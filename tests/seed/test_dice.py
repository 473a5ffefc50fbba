from datetime import UTC, datetime
from uuid import UUID

from seed.dice import Dice

NOON = datetime(2026, 3, 2, 12, 0, 0, 125_000, tzinfo=UTC)


def test_the_same_name_gives_the_same_throws() -> None:
    """Two streams of one seed and name throw alike; another name throws otherwise."""
    first, again, other = Dice.named(7, "post"), Dice.named(7, "post"), Dice.named(7, "year")
    throws = [first.random() for _ in range(5)]
    assert throws == [again.random() for _ in range(5)]
    assert throws != [other.random() for _ in range(5)]


def test_an_identifier_has_the_layout_of_version_7() -> None:
    """An identifier has version 7, the variant of RFC 9562 and the moment in its first 48 bits (RFC 9562 5.7)."""
    drawn = UUID(Dice.named(7, "identifiers").uuid(NOON))
    assert drawn.version == 7
    assert drawn.variant == "specified in RFC 4122"
    assert drawn.int >> 80 == 1_772_452_800_125


def test_identifiers_of_one_moment_differ() -> None:
    """A thousand identifiers drawn for one moment are a thousand."""
    dice = Dice.named(7, "identifiers")
    assert len({dice.uuid(NOON) for _ in range(1000)}) == 1000


def test_whole_numbers_reach_both_ends() -> None:
    """Numbers from 1 to 3 are 1, 2 and 3 and nothing else."""
    dice = Dice.named(7, "numbers")
    assert {dice.between(1, 3) for _ in range(200)} == {1, 2, 3}


def test_near_stays_within_three_spreads() -> None:
    """Draws around 100 with a spread of 2 stay from 94 to 106."""
    dice = Dice.named(7, "near")
    draws = [dice.near(100, 2) for _ in range(5000)]
    assert 94 <= min(draws) < 98
    assert 102 < max(draws) <= 106
