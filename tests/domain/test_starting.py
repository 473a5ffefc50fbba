"""From which version a change may start (RFC 9110 sections 13.1.1 and 13.1.2)."""

import pytest

from service.domain.errors import AtVersion, PreconditionRequired, VersionMismatch
from service.domain.starting import Start, Versions


def outcome(said: Start, current: int | None) -> tuple[type[AtVersion], int | None] | None:
    """Ask whether a change may start from the version there is."""
    try:
        said.demand(current)
    except AtVersion as error:
        return type(error), error.current
    return None


@pytest.mark.parametrize(
    ("said", "none_yet", "at_seven"),
    [
        (Start(), None, (PreconditionRequired, 7)),
        (Start(Versions(frozenset({7}))), (VersionMismatch, None), None),
        (Start(Versions(frozenset({6, 7}))), (VersionMismatch, None), None),
        (Start(Versions(frozenset({6}))), (VersionMismatch, None), (VersionMismatch, 7)),
        (Start(Versions()), (VersionMismatch, None), (VersionMismatch, 7)),
        (Start(Versions(each=True)), (VersionMismatch, None), None),
        (Start(but=Versions(each=True)), None, (VersionMismatch, 7)),
        (Start(but=Versions(frozenset({7}))), None, (VersionMismatch, 7)),
        (Start(but=Versions(frozenset({6}))), None, (PreconditionRequired, 7)),
        (Start(Versions(frozenset({7})), Versions(each=True)), (VersionMismatch, None), (VersionMismatch, 7)),
        (Start(Versions(frozenset({7})), Versions(frozenset({7}))), (VersionMismatch, None), (VersionMismatch, 7)),
        (Start(Versions(frozenset({7})), Versions(frozenset({6}))), (VersionMismatch, None), None),
    ],
)
def test_a_change_starts_from_the_version_there_is(said: Start, none_yet: object, at_seven: object) -> None:
    """A change of what is there has to name its version, or to say that any will do; of what is not, to say nothing.

    What must not be there counts beside it (RFC 9110 section 13.2.2).
    """
    assert (outcome(said, None), outcome(said, 7)) == (none_yet, at_seven)
