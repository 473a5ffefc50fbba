"""Which version a change starts from, as its sender says (RFC 9110 sections 13.1.1 and 13.1.2)."""

import msgspec

from service.domain.errors import PreconditionRequired, VersionMismatch


class Versions(msgspec.Struct, frozen=True):
    """The versions that a condition names; with `each` whichever there is. `weak`: it names some by weak tags alone."""

    named: frozenset[int] = frozenset()
    each: bool = False
    weak: bool = False

    def has(self, current: int | None) -> bool:
        """Say whether the version there is, is one of them."""
        return current is not None and (self.each or current in self.named)


class Start(msgspec.Struct, frozen=True):
    """The versions that a change may start from (`of`), and those that it must not (`but`); None: not said."""

    of: Versions | None = None
    but: Versions | None = None

    def demand(self, current: int | None) -> None:
        """Raise VersionMismatch where a condition does not hold, PreconditionRequired where a change names no version.

        Both conditions count where there are both (RFC 9110 section 13.2.2, steps 1 and 3).
        """
        if self.of is not None and not self.of.has(current):
            raise VersionMismatch(current, _why(self.of, current))
        if self.but is not None and self.but.has(current):
            raise VersionMismatch(current, VersionMismatch.THERE if self.but.each else VersionMismatch.CHANGED)
        if self.of is None and current is not None:
            raise PreconditionRequired(current)


def _why(of: Versions, current: int | None) -> str:
    """Say why there is none of the versions that a change may start from."""
    if current is None:
        return VersionMismatch.NONE_YET
    return VersionMismatch.WEAK if of.weak else VersionMismatch.CHANGED
