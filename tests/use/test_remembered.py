"""What is remembered of versions."""

import pytest

from service.remembered import Remembered

HOOD, MASK, PACK = "hood", "mask", "pack"


@pytest.fixture
def memory() -> Remembered[str]:
    """Give a memory for ten."""
    return Remembered(10)


def test_what_was_made_of_a_version_is_given_for_that_alone(memory: Remembered[str]) -> None:
    """Neither for an older one nor for a newer one."""
    memory.keep(HOOD, 7, "as of 7", 4)
    assert memory.get(HOOD, 7) == "as of 7"
    assert [memory.get(HOOD, 6), memory.get(HOOD, 8)] == [None, None]


def test_another_version_takes_the_place_of_the_one_before(memory: Remembered[str]) -> None:
    """Also of its weight: what was replaced leaves room."""
    for version in range(20):
        memory.keep(HOOD, version, f"as of {version}", 4)
    memory.keep(MASK, 1, "mask", 6)
    assert [memory.get(HOOD, 18), memory.get(HOOD, 19), memory.get(MASK, 1)] == [None, "as of 19", "mask"]


@pytest.mark.parametrize(
    ("used", "left"),
    [([], [MASK, PACK]), ([HOOD], [HOOD, PACK]), ([HOOD, MASK], [MASK, PACK]), ([MASK, HOOD], [HOOD, PACK])],
)
def test_what_was_not_used_for_longest_is_forgotten_first(
    memory: Remembered[str], used: list[str], left: list[str]
) -> None:
    """As soon as all together weigh more than there is room for."""
    memory.keep(HOOD, 1, "hood", 5)
    memory.keep(MASK, 1, "mask", 5)
    for name in used:
        memory.get(name, 1)
    memory.keep(PACK, 1, "pack", 5)
    assert [name for name in (HOOD, MASK, PACK) if memory.get(name, 1) is not None] == left


def test_what_alone_weighs_more_is_not_kept_and_drives_nothing_out(memory: Remembered[str]) -> None:
    """What was known of it before is forgotten: it has another version now."""
    memory.keep(HOOD, 1, "hood", 5)
    memory.keep(MASK, 1, "mask", 5)
    memory.keep(HOOD, 2, "hood grown", 11)
    assert [memory.get(HOOD, 1), memory.get(HOOD, 2), memory.get(MASK, 1)] == [None, None, "mask"]
