"""Whether an answer is what the README shows of it: `...` stands for what is different every time, or left out."""

import doctest
from typing import Any

ANY = "..."
LIKE = doctest.ELLIPSIS | doctest.NORMALIZE_WHITESPACE


def like_text(shown: str, given: str) -> bool:
    """Compare texts, any white space being like any other."""
    return doctest.OutputChecker().check_output(shown, given, LIKE)


def like(shown: Any, given: Any) -> bool:
    """Compare JSON values: members that are not shown may be there, items of a list only behind `...`."""
    if shown == ANY:
        return True
    match shown, given:
        case dict(), dict():
            return all(name in given and like(value, given[name]) for name, value in shown.items())
        case list(), list():
            more = shown[-1:] == [ANY]
            wanted = shown[:-1] if more else shown
            enough = len(given) >= len(wanted) if more else len(given) == len(wanted)
            return enough and all(like(one, other) for one, other in zip(wanted, given, strict=False))
        case str(), str():
            return like_text(shown, given)
    return type(shown) is type(given) and bool(shown == given)
