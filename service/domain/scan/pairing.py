"""Which elements of GS1 stand together: a lot without the item that it is of says nothing."""

from collections.abc import Iterable, Iterator

from service.domain.scan.reading import Element
from service.reference.gs1 import EXCLUDED, REQUIRED


def faults(elements: Iterable[Element]) -> Iterator[str]:
    """Say which element lacks another, and which does not go with another."""
    present = [element.identifier for element in elements]
    for one in present:
        for group in _needs(one):
            if not any(_is_like(other, wanted) for other in present for wanted in group):
                listed = ", ".join(f"({wanted})" for wanted in group)
                yield f"({one}) says nothing without {listed}: send both codes of the package as one text, in brackets"
        for barred in (other for other in present if other in EXCLUDED.get(one, ())):
            yield f"({one}) does not stand with ({barred}): scan one code at a time"


def _needs(one: str) -> tuple[tuple[str, ...], ...]:
    return next((groups for like, groups in REQUIRED.items() if _is_like(one, like)), ())


def _is_like(one: str, like: str) -> bool:
    """Say whether an identifier is as a table writes it: "31nn" is any of four digits that begin with 31."""
    return len(one) == len(like) and one.startswith(like.rstrip("n"))
