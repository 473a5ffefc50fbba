"""How a failure is written in the log: where it happened, never with which values.

The text of an exception may hold anything: a row, a message, a person. So of each exception only its class is told,
with SQLSTATE and constraint where the database names them, and of each frame its place and the source that is there.
"""

import traceback
from collections.abc import Iterator

AFTER = "\nThen, from or after it:\n\n"


def stack(error: BaseException) -> str:
    """Write an exception with those it came from, the first one first, and those that it gathers."""
    return "".join(_told(error, frozenset())).rstrip("\n")


def _told(error: BaseException, told: frozenset[int]) -> Iterator[str]:
    told |= {id(error)}
    earlier = error.__cause__ or (None if error.__suppress_context__ else error.__context__)
    if earlier is not None and id(earlier) not in told:
        yield from _told(earlier, told)
        yield AFTER
    if error.__traceback__ is not None:
        yield "Traceback (most recent call last):\n"
        yield from traceback.format_tb(error.__traceback__)
    yield f"{name(error)}\n"
    for one in error.exceptions if isinstance(error, BaseExceptionGroup) else ():
        yield "".join(f"  | {line}\n" for line in "".join(_told(one, told)).splitlines())


def name(error: BaseException) -> str:
    """Name an exception by its class, and what the database calls the fault."""
    kind = type(error)
    words = (getattr(error, "sqlstate", None), getattr(getattr(error, "diag", None), "constraint_name", None))
    more = ", ".join(str(word) for word in words if word)
    return f"{kind.__module__}.{kind.__qualname__}" + (f" ({more})" if more else "")
