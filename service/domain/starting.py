"""Which version a change starts from, as its sender says (RFC 9110 sections 13.1.1 and 13.1.2)."""

import msgspec

from service.domain.errors import PreconditionRequired, VersionMismatch


class Start(msgspec.Struct, frozen=True):
    """The versions that a change may start from, 0 for none yet; with `existing` whichever there is; None: not said."""

    versions: frozenset[int] | None = None
    existing: bool = False

    def demand(self, current: int | None) -> None:
        """Raise PreconditionRequired or VersionMismatch where the change does not start from the version there is."""
        if self.existing:
            holds = current is not None
        elif self.versions is not None:
            holds = (current or 0) in self.versions
        elif current is not None:
            raise PreconditionRequired(current)
        else:
            holds = True
        if not holds:
            raise VersionMismatch(current)
