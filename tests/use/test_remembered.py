"""What is remembered of versions."""

from uuid import UUID

import pytest

from service.remembered import Remembered

HOOD, MASK, PACK = "hood", "mask", "pack"
OURS, THEIRS = UUID(int=1), UUID(int=2)


@pytest.fixture
def memory() -> Remembered[str]:
    """Give a memory for ten."""
    return Remembered(10)


def ask(memory: Remembered[str], *names: str, version: int = 1) -> list[str]:
    """Ask for names together, and name what was known of them."""
    return [*memory.known(OURS, dict.fromkeys(names, version))]


def learn(memory: Remembered[str], weight: int, *names: str) -> None:
    """Ask for names together, each of the first version, and keep what was not known, of some weight each."""
    known = ask(memory, *names)
    for name in names:
        if name not in known:
            memory.keep(OURS, name, 1, name, weight)


def test_what_was_made_of_a_version_is_given_for_that_alone(memory: Remembered[str]) -> None:
    """Neither for an older one nor for a newer one."""
    memory.keep(OURS, HOOD, 7, "as of 7", 4)
    assert memory.known(OURS, {HOOD: 7, MASK: 7}) == {HOOD: "as of 7"}
    assert [memory.known(OURS, {HOOD: version}) for version in (6, 8)] == [{}, {}]


def test_of_another_nothing_is_told(memory: Remembered[str]) -> None:
    """Be it of the same name and version; but there is room for both together."""
    memory.keep(OURS, HOOD, 7, "ours", 4)
    memory.keep(THEIRS, HOOD, 7, "theirs", 4)
    assert [memory.known(of, {HOOD: 7}) for of in (OURS, THEIRS, UUID(int=3))] == [{HOOD: "ours"}, {HOOD: "theirs"}, {}]


def test_another_version_takes_the_place_of_the_one_before(memory: Remembered[str]) -> None:
    """Also of its weight: what was replaced leaves room."""
    for version in range(20):
        assert ask(memory, HOOD, version=version) == []
        memory.keep(OURS, HOOD, version, HOOD, 4)
    learn(memory, 6, MASK)
    assert [ask(memory, HOOD, version=18), ask(memory, HOOD, version=19), ask(memory, MASK)] == [[], [HOOD], [MASK]]


@pytest.mark.parametrize(
    ("used", "left"),
    [([], [MASK, PACK]), ([HOOD], [HOOD, PACK]), ([HOOD, MASK], [MASK, PACK]), ([MASK, HOOD], [HOOD, PACK])],
)
def test_what_was_not_used_for_longest_is_forgotten_first(
    memory: Remembered[str], used: list[str], left: list[str]
) -> None:
    """As soon as all together weigh more than there is room for."""
    learn(memory, 5, HOOD, MASK)
    for name in used:
        ask(memory, name)
    learn(memory, 5, PACK)
    assert ask(memory, HOOD, MASK, PACK) == left


def test_what_alone_weighs_more_is_not_kept_and_drives_nothing_out(memory: Remembered[str]) -> None:
    """What was known of it before is forgotten: it has another version now."""
    learn(memory, 5, HOOD, MASK)
    ask(memory, HOOD, version=2)
    memory.keep(OURS, HOOD, 2, HOOD, 11)
    assert [ask(memory, HOOD), ask(memory, HOOD, version=2), ask(memory, MASK)] == [[], [], [MASK]]


def test_what_two_made_of_one_version_at_once_is_kept_once(memory: Remembered[str]) -> None:
    """The first of it is given to both, and grows for both; of a version that there is no room for each has its own."""
    assert [memory.keep(OURS, HOOD, 7, made, 4) for made in ("first", "second")] == ["first", "first"]
    assert memory.grows(OURS, HOOD, 7, 2)
    assert memory.keep(OURS, HOOD, 7, "third", 4) == "first"
    assert [memory.keep(OURS, MASK, 7, made, 11) for made in ("first", "second")] == ["first", "second"]
    assert [memory.keep(OURS, HOOD, 8, "newer", 4), memory.known(OURS, {HOOD: 7})] == ["newer", {}]


@pytest.mark.parametrize("before", [0, 1, 3])
def test_of_more_than_there_is_room_for_the_same_part_is_known_each_time(memory: Remembered[str], before: int) -> None:
    """Whoever asks for all of it again and again does not forget what comes first as the last is learnt."""
    learn(memory, 2, *(f"other-{nth}" for nth in range(before)))
    names = [f"unit-{nth}" for nth in range(20)]
    for _ in range(3):
        learn(memory, 2, *names)
    assert ask(memory, *names) == names[:5]


def test_another_question_makes_room_for_itself(memory: Remembered[str]) -> None:
    """What filled it before is not held for ever."""
    learn(memory, 2, *(f"unit-{nth}" for nth in range(20)))
    learn(memory, 2, HOOD, MASK, PACK)
    assert ask(memory, HOOD, MASK, PACK) == [HOOD, MASK, PACK]
    assert ask(memory, *(f"unit-{nth}" for nth in range(20))) == ["unit-3", "unit-4"]
