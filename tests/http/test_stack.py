"""How a failure is written in the log."""

import psycopg
import pytest

from service.stack import name, stack
from tests.databases.clone import Database

SECRET = "p-3071"


def fail(cause: Exception | None = None) -> None:
    """Fail, in words that speak of a person."""
    raise LookupError(SECRET) from cause


def raised(cause: Exception | None = None) -> Exception:
    """Give a failure with its trace."""
    with pytest.raises(LookupError) as caught:
        fail(cause)
    return caught.value


def test_a_failure_is_told_by_its_place_and_class() -> None:
    """A trace names file, line, function and source, then the class; what the exception says is left out."""
    lines = stack(raised()).splitlines()

    assert lines[0] == "Traceback (most recent call last):"
    assert lines[-3].endswith(", in fail")
    assert lines[-2].strip() == "raise LookupError(SECRET) from cause"
    assert lines[-1] == "builtins.LookupError"
    assert SECRET not in "".join(lines)


def test_what_a_failure_came_from_stands_before_it() -> None:
    """The failure that another came from, or that came up while it was handled, is told first."""
    told = stack(raised(KeyError(SECRET)))
    first, second = TimeoutError(SECRET), LookupError(SECRET)
    second.__context__ = first
    handling = stack(second)

    assert [line for line in told.splitlines() if line.startswith("builtins")] == [
        "builtins.KeyError",
        "builtins.LookupError",
    ]
    assert handling.index("builtins.TimeoutError") < handling.index("builtins.LookupError")
    assert SECRET not in told + handling


def test_all_failures_of_a_group_are_told() -> None:
    """A group tells each of its failures, set in, once more without what they say."""
    told = stack(ExceptionGroup(SECRET, [raised(), ValueError(SECRET)]))

    assert told.splitlines()[0] == "builtins.ExceptionGroup"
    assert [line for line in told.splitlines() if "Error" in line and "raise" not in line] == [
        "  | builtins.LookupError",
        "  | builtins.ValueError",
    ]
    assert SECRET not in told


def test_a_circle_of_failures_ends() -> None:
    """Failures that came from each other are each told once."""
    first, second = ValueError(SECRET), KeyError(SECRET)
    first.__cause__, second.__cause__ = second, first

    assert [line for line in stack(first).splitlines() if "Error" in line] == [
        "builtins.KeyError",
        "builtins.ValueError",
    ]


async def test_the_database_names_the_fault(empty_database: Database) -> None:
    """Of an error of the database its state and the constraint are told, not the row that it quotes."""
    async with await psycopg.AsyncConnection.connect(empty_database.owner_url) as conn:
        await conn.execute("CREATE TEMPORARY TABLE person (ref text CONSTRAINT each_once PRIMARY KEY)")
        await conn.execute("INSERT INTO person VALUES (%s)", (SECRET,))
        with pytest.raises(psycopg.errors.UniqueViolation, match=SECRET) as caught:
            await conn.execute("INSERT INTO person VALUES (%s)", (SECRET,))

    assert name(caught.value) == "psycopg.errors.UniqueViolation (23505, each_once)"
    assert SECRET not in stack(caught.value)
